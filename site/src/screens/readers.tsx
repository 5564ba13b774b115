// Readers: one card for each child or group, one text compared for several, and everything forgotten in one go.
import { signal, useSignal } from "@preact/signals";
import { useEffect } from "preact/hooks";
import { download, tell, Trouble, type Fault } from "../api";
import { flush, open, openText, show } from "../editor";
import { addHalfTyped, Dialog, Items } from "../parts/basics";
import type { ComparedReader, Desk, Reader, ReaderList } from "../shapes";
import { attempt, blankReader, choose, folder, go, lookStep, message, notice, reader, readers, sequences, settings, takeDesk, texts } from "../state";
import { number, percent, plural } from "../words";

const editing = signal<Reader | null>(null);
const faults = signal<Fault[]>([]);

const LISTS: { field: ReaderList; label: string; patterns?: boolean; hint: string }[] = [
  { field: "patterns", label: "Patterns known beside the sequence", patterns: true, hint: "ee as in see …" },
  { field: "not_secure", label: "Patterns not secure yet", patterns: true, hint: "b, d …" },
  { field: "names", label: "Names they know", hint: "Pip, Mabel …" },
  { field: "words", label: "Words known whole", hint: "said …" },
  { field: "told", label: "Words an adult says", hint: "lighthouse …" },
];

export function ReadersScreen() {
  return (
    <main class="readers-screen" id="main">
      <h1 class="away">Readers</h1>
      <div class="columns">
        <section class="reader-list" aria-label="Readers">
          <ul>
            {readers.value.map((r) => (
              <ReaderCard key={r.id} found={r} />
            ))}
          </ul>
          {!readers.value.length && <p class="lead">A reader is one child, or a group that is taught together: how far they are, and what they know beside that. Initials will do for a name.</p>}
          <button
            type="button"
            class="main"
            onClick={() => {
              faults.value = [];
              editing.value = { ...blankReader(), name: "" };
            }}
          >
            Add a reader
          </button>
        </section>
        <div class="wide">
          {editing.value && <Form key={editing.value.id} found={editing.value} />}
          <Compare />
          <Yours />
        </div>
      </div>
    </main>
  );
}

function ReaderCard({ found }: { found: Reader }) {
  const current = reader.value?.id === found.id;
  const extras = LISTS.filter((l) => found[l.field].length);
  return (
    <li class={`reader ${current ? "current" : ""}`}>
      <h2>{found.name}</h2>
      {found.faults.length ? (
        <strong class="fault">{found.faults.join(" ")}</strong>
      ) : (
        <p>
          {found.title}
          <br />
          {found.step_number ? `step ${found.step_number}, ${found.step_name}` : "no step stated"}
        </p>
      )}
      {extras.length > 0 && (
        <dl>
          {extras.map((l) => (
            <div key={l.field}>
              <dt>{l.label}</dt>
              <dd>{found[l.field].join(", ")}</dd>
            </div>
          ))}
        </dl>
      )}
      <div class="buttons">
        {current ? (
          <span class="chosen">Texts are judged for {found.name}</span>
        ) : (
          <button type="button" class="quiet" onClick={() => void use(found.id)}>
            Judge texts for {found.name}
          </button>
        )}
        <button
          type="button"
          class="quiet"
          aria-label={`Change ${found.name}`}
          onClick={() => {
            faults.value = [];
            editing.value = found;
          }}
        >
          Change
        </button>
      </div>
    </li>
  );
}

export async function use(id: string): Promise<void> {
  lookStep.value = null;
  await choose({ reader: id });
}

function Form({ found }: { found: Reader }) {
  const now = useSignal(found);
  const set = (part: Partial<Reader>) => (now.value = { ...now.value, ...part });
  const steps = sequences.value.find((s) => s.name === now.value.sequence)?.steps ?? [];
  const wrong = (field: string) => faults.value.filter((f) => f.field === field && (f.item ?? -1) < 0);
  const placed = (field: string) => new Map(faults.value.filter((f) => f.field === field && (f.item ?? -1) >= 0).map((f) => [f.item!, f.message]));
  useEffect(() => document.querySelector<HTMLElement>("#reader-name")?.focus(), []);
  const save = async () => {
    addHalfTyped();
    const { id, title: _t, step_number: _n, step_name: _s, faults: _f, ...document } = now.value;
    try {
      const done = await tell<{ id: string; readers: Reader[] }>(id ? "PUT" : "POST", id ? `readers/${id}` : "readers", document);
      readers.value = done.readers;
      editing.value = null;
      if (!id || done.id === reader.value?.id) await use(done.id);
      notice.value = { kind: "good", text: `${document.name} is kept.` };
    } catch (error) {
      faults.value = error instanceof Trouble ? error.faults : [];
      notice.value = { kind: "bad", text: message(error) };
    }
  };
  const Wrong = ({ field }: { field: string }) => (
    <>
      {wrong(field).map((f) => (
        <strong class="fault" key={f.message}>
          {f.message}
        </strong>
      ))}
    </>
  );
  return (
    <form
      class="panel reader-form"
      aria-label={found.id ? `Change ${found.name}` : "A new reader"}
      onSubmit={(e) => {
        e.preventDefault();
        void save();
      }}
    >
      <h2>{found.id ? found.name : "A new reader"}</h2>
      <div class="row">
        <label>
          Name
          <input id="reader-name" value={now.value.name} maxLength={200} autocomplete="off" onInput={(e) => set({ name: e.currentTarget.value })} />
          <Wrong field="name" />
        </label>
        <label>
          Sequence
          <select value={now.value.sequence} onChange={(e) => set({ sequence: e.currentTarget.value, step: "" })}>
            {sequences.value.map((s) => (
              <option key={s.name} value={s.name}>
                {s.title}
              </option>
            ))}
          </select>
          <Wrong field="sequence" />
        </label>
        <label>
          Step reached
          <select value={now.value.step} onChange={(e) => set({ step: e.currentTarget.value })}>
            <option value="">not stated: all steps</option>
            {steps.map((s, n) => (
              <option key={s.id} value={s.id}>
                {n + 1}. {s.name}
              </option>
            ))}
          </select>
          <Wrong field="step" />
        </label>
        <label>
          Unstressed vowels
          <select value={now.value.unstressed} onChange={(e) => set({ unstressed: e.currentTarget.value as Reader["unstressed"] })}>
            <option value="">as the sequence says</option>
            <option value="allow">may pass</option>
            <option value="strict">must be taught</option>
          </select>
        </label>
      </div>
      {LISTS.map((l) => (
        <div key={l.field}>
          <Items label={l.label} items={now.value[l.field]} patterns={l.patterns} hint={l.hint} faults={placed(l.field)} onChange={(items) => set({ [l.field]: items })} />
          <Wrong field={l.field} />
        </div>
      ))}
      <div class="buttons">
        <button type="submit" class="main">
          Keep
        </button>
        <button type="button" class="quiet" onClick={() => (editing.value = null)}>
          Leave it
        </button>
        {found.id && (
          <button
            type="button"
            class="quiet danger"
            onClick={() =>
              void attempt(async () => {
                readers.value = (await tell<{ readers: Reader[] }>("DELETE", `readers/${found.id}`)).readers;
                editing.value = null;
                if (settings.value.reader === found.id) await use("");
                notice.value = { kind: "good", text: `${found.name} is erased.` };
              })
            }
          >
            Erase this reader
          </button>
        )}
      </div>
    </form>
  );
}

function Compare() {
  const rows = useSignal<ComparedReader[]>([]);
  const chosen = settings.value.compare.filter((id) => readers.value.some((r) => r.id === id));
  const text = open.value;
  useEffect(() => {
    if (!text || !chosen.length) {
      rows.value = [];
      return undefined;
    }
    let wanted = true;
    void flush().then(() =>
      attempt(async () => {
        const found = await tell<{ rows: ComparedReader[] }>("POST", `texts/${text.id}/compare`, { readers: chosen });
        if (wanted) rows.value = found.rows;
      }),
    );
    return () => void (wanted = false);
  }, [text?.id, chosen.join(), readers.value]);
  if (readers.value.length < 2) return null;
  return (
    <section class="panel" aria-label="Compare">
      <h2>One text for several readers</h2>
      {!text && <p class="hint">Open a text first.</p>}
      <fieldset>
        <legend>{text ? `“${text.title}” for` : "For"}</legend>
        {readers.value.map((r) => (
          <label key={r.id} class="check">
            <input
              type="checkbox"
              checked={chosen.includes(r.id)}
              onChange={(e) => void choose({ compare: e.currentTarget.checked ? [...chosen, r.id] : chosen.filter((id) => id !== r.id) })}
            />
            {r.name}
          </label>
        ))}
      </fieldset>
      {rows.value.length > 0 && (
        <div class="scroll" tabIndex={0} role="region" aria-label="Comparison">
          <table class="compare">
            <thead>
              <tr>
                <th scope="col">Reader</th>
                <th scope="col">Readable</th>
                <th scope="col">Flagged words</th>
                <th scope="col">95 % readable</th>
                <th scope="col">
                  <span class="away">Show</span>
                </th>
              </tr>
            </thead>
            <tbody>
              {rows.value.map((r) => (
                <tr key={r.reader}>
                  <th scope="row">
                    {r.name ?? r.reader}
                    <small>{r.step_name || r.sequence}</small>
                  </th>
                  {r.error ? (
                    <td colSpan={4}>
                      <strong class="fault">{r.error}</strong>
                    </td>
                  ) : (
                    <>
                      <td>
                        <b>{percent(r.readable_share!)}</b>
                        <small>{r.band}</small>
                      </td>
                      <td>
                        {number(r.flagged_types!)} different
                        <small>
                          {r.flagged_words!.join(", ")}
                          {r.flagged_types! > r.flagged_words!.length && " …"}
                        </small>
                      </td>
                      <td>{r.first_step_at_95 ? `from step ${r.first_step_at_95}` : "at no step"}</td>
                      <td>
                        <button
                          type="button"
                          class="quiet"
                          aria-label={`Show the text for ${r.name}`}
                          onClick={() => {
                            void use(r.reader);
                            go("text");
                          }}
                        >
                          Show
                        </button>
                      </td>
                    </>
                  )}
                </tr>
              ))}
            </tbody>
          </table>
        </div>
      )}
    </section>
  );
}

function Yours() {
  const asking = useSignal(false);
  const forget = async () => {
    await flush();
    const before = open.value;
    show(null); // nothing asks for the text any more
    const desk = await attempt(() => tell<Desk>("POST", "forget"));
    asking.value = false;
    if (!desk) return void (before && openText(before.id));
    sessionStorage.clear();
    editing.value = null;
    lookStep.value = null;
    takeDesk(desk);
    notice.value = { kind: "good", text: "Everything is forgotten." };
  };
  const own = sequences.value.filter((s) => s.own).length;
  return (
    <section class="panel" aria-label="What is kept">
      <h2>What is kept</h2>
      <p>
        {plural(readers.value.length, "reader")}, {plural(texts.value.length, "text")}, {plural(own, "sequence")} of your own. All of it is in this folder, for you alone; nothing leaves this machine.
      </p>
      <p>
        <code>{folder.value}</code>
      </p>
      <div class="buttons">
        <button type="button" class="quiet" onClick={() => void attempt(() => download("export"))}>
          Download a copy of everything
        </button>
        <button type="button" class="quiet danger" onClick={() => (asking.value = true)}>
          Forget everything
        </button>
      </div>
      {asking.value && (
        <Dialog title="Forget everything?" onClose={() => (asking.value = false)}>
          <p>This erases every text, reader, sequence of your own, fixed word and setting from this machine. It can't be undone.</p>
          <div class="buttons">
            <button type="button" class="main danger" onClick={() => void forget()}>
              Forget everything
            </button>
            <button type="button" class="quiet" onClick={() => (asking.value = false)}>
              Keep it
            </button>
          </div>
        </Dialog>
      )}
    </section>
  );
}
