// Sequence: what is taught when. Every change shows at once what it frees, what the open text then shows, and for whom.
import { useSignal } from "@preact/signals";
import { useEffect, useRef } from "preact/hooks";
import { download, tell, upload } from "../api";
import { FileButton, Items, Menu } from "../parts/basics";
import { Preview } from "../parts/preview";
import { Tide } from "../parts/tide";
import type { PlacedFault, SequenceAbout, SequenceWhole } from "../shapes";
import { addAfter, ask, change, chosen, effect, move, name, now, past, preview, remove, save, saved, setStep, showSequence, steps, take, undo, type Document, type Import, type Step } from "../shaping";
import { attempt, loadDesk, reader, sequences, settings } from "../state";
import { BODIES, number, percent, plural } from "../words";

export function SequenceScreen() {
  useEffect(() => {
    const wanted = settings.value.sequence || reader.value?.sequence || "gull-point";
    if (name.value && now.value) void ask(0);
    else void showSequence(sequences.value.some((s) => s.name === wanted) ? wanted : "gull-point");
  }, []);
  const document = now.value;
  const about = saved.value;
  return (
    <main class="sequence-screen" id="main">
      <h1 class="away">Sequence</h1>
      <div class="tools">
        <label class="pick">
          Sequence
          <select value={name.value} onChange={(e) => void showSequence(e.currentTarget.value)}>
            {sequences.value.map((s) => (
              <option key={s.name} value={s.name}>
                {s.title}
                {s.own ? " (yours)" : ""}
              </option>
            ))}
          </select>
        </label>
        <div class="buttons">
          <button type="button" class="quiet" disabled={!past.value.length} onClick={undo}>
            Undo
          </button>
          <FileButton
            label="Import a spreadsheet"
            accept=".csv,.tsv,.toml,text/csv"
            onFile={(file) =>
              void attempt(async () => {
                preview.value = { ...(await upload<Import>("sequences/import", file, { name: file.name })), file: file.name };
              })
            }
          />
          {about && (
            <Menu label="More" side="right">
              <button type="button" onClick={() => void save(true)}>
                Save as a new sequence
              </button>
              <button type="button" onClick={() => void attempt(() => download(`sequences/${name.value}/file`))}>
                Download the saved file
              </button>
              {about.own && (
                <button
                  type="button"
                  class="danger"
                  onClick={() =>
                    void attempt(async () => {
                      sequences.value = (await tell<{ sequences: SequenceAbout[] }>("DELETE", `sequences/${name.value}`)).sequences;
                      await loadDesk();
                      await showSequence("gull-point");
                    })
                  }
                >
                  Erase this sequence
                </button>
              )}
            </Menu>
          )}
        </div>
      </div>
      {document && about && (
        <div class="columns">
          <section class="ladder" aria-label="Steps">
            <Unsaved about={about} />
            <Head document={document} />
            <ol class="steps">
              {document.step.map((s, n) => (
                <StepRow key={s.key} step={s} at={n} count={document.step.length} />
              ))}
            </ol>
            <button type="button" class="quiet" onClick={() => addAfter(document.step.length - 1)}>
              Add a step at the end
            </button>
          </section>
          <Effects document={document} />
        </div>
      )}
      {preview.value && <Preview found={preview.value} />}
    </main>
  );
}

function Unsaved({ about }: { about: SequenceWhole }) {
  const found = effect.value;
  if (!found?.changed)
    return about.own ? null : <p class="hint lead">This sequence came with the program and stays as it is. Change what you like: it is saved as your own.</p>;
  const faults = found.faults.length;
  return (
    <div class="unsaved" role="status">
      <p>
        <b>Not saved yet.</b> {faults ? `${plural(faults, "fault")} to put right first.` : about.own ? "" : "It will be saved as your own sequence."}
      </p>
      <button type="button" class="main" disabled={faults > 0} onClick={() => void save(false)}>
        {about.own ? "Save" : "Save as mine"}
      </button>
      <button
        type="button"
        class="quiet"
        onClick={() =>
          void attempt(async () => {
            const back = await tell<SequenceWhole>("DELETE", `sequences/${name.value}/draft`);
            take(back, back.document);
          })
        }
      >
        Leave the changes
      </button>
    </div>
  );
}

const faultsOf = (step: number, field?: string): PlacedFault[] =>
  (effect.value?.faults ?? []).filter((f) => f.step === step && (field === undefined || f.field === field));

function Head({ document }: { document: Document }) {
  const wrong = faultsOf(-1);
  return (
    <div class="head">
      <label>
        Name
        <input value={document.title} maxLength={200} onInput={(e) => change({ ...document, title: e.currentTarget.value }, "title")} />
      </label>
      <label>
        Unstressed vowels
        <select value={document.unstressed} onChange={(e) => change({ ...document, unstressed: e.currentTarget.value })}>
          <option value="allow">may pass</option>
          <option value="strict">must be taught</option>
        </select>
      </label>
      <label class="wide">
        Note
        <textarea rows={2} maxLength={4000} value={document.note} onInput={(e) => change({ ...document, note: e.currentTarget.value }, "note")} />
      </label>
      {wrong.map((f) => (
        <strong class="fault" key={f.message}>
          {f.message}
        </strong>
      ))}
    </div>
  );
}

function freedAt(n: number): { body: string; count: number }[] {
  return Object.entries(effect.value?.freed[n] ?? {}).map(([body, count]) => ({ body: BODIES[body] ?? body, count }));
}

function StepRow({ step, at, count }: { step: Step; at: number; count: number }) {
  const openNow = chosen.value === step.key;
  const wrong = faultsOf(at);
  const share = effect.value?.text?.readable_by_step[at];
  const head = useRef<HTMLButtonElement>(null);
  const dragged = useSignal(false);
  return (
    <li
      class={`step ${openNow ? "open" : ""} ${wrong.length ? "faulty" : ""} ${dragged.value ? "over" : ""}`}
      onDragOver={(e) => {
        if (e.dataTransfer?.types.includes("text/x-step")) {
          e.preventDefault();
          dragged.value = true;
        }
      }}
      onDragLeave={() => (dragged.value = false)}
      onDrop={(e) => {
        dragged.value = false;
        const key = Number(e.dataTransfer?.getData("text/x-step"));
        const from = steps().findIndex((s) => s.key === key);
        if (from >= 0) {
          e.preventDefault();
          move(key, at - from);
        }
      }}
      onKeyDown={(e) => {
        if (e.altKey && (e.key === "ArrowUp" || e.key === "ArrowDown")) {
          e.preventDefault();
          move(step.key, e.key === "ArrowUp" ? -1 : 1);
          requestAnimationFrame(() => head.current?.focus());
        }
      }}
    >
      <button
        ref={head}
        type="button"
        class="step-head"
        aria-expanded={openNow}
        draggable
        onDragStart={(e) => e.dataTransfer?.setData("text/x-step", String(step.key))}
        onClick={() => (chosen.value = openNow ? null : step.key)}
      >
        <span class="number">{at + 1}</span>
        <span class="what">
          <b>{step.name || (step.teach.length ? step.teach.join(" ") : "New step")}</b>
          <span class="taught">
            {step.teach.join(" · ")}
            {step.words.length > 0 && (
              <>
                {step.teach.length > 0 && " · "}
                <i>{step.words.join(" ")}</i>
              </>
            )}
          </span>
        </span>
        <span class="frees">
          {freedAt(at).map((f) => (
            <span key={f.body}>
              +{number(f.count)} <small>{f.body}</small>
            </span>
          ))}
          {share !== undefined && (
            <span>
              {percent(share)} <small>of the text</small>
            </span>
          )}
        </span>
      </button>
      {wrong.length > 0 && !openNow && <strong class="fault">{wrong[0]!.message}</strong>}
      {openNow && <StepForm step={step} at={at} count={count} />}
    </li>
  );
}

function StepForm({ step, at, count }: { step: Step; at: number; count: number }) {
  const first = useRef<HTMLInputElement>(null);
  useEffect(() => {
    if (!step.name && !step.teach.length) first.current?.focus();
  }, []);
  const placed = (field: string) => new Map(faultsOf(at, field).filter((f) => f.item >= 0).map((f) => [f.item, f.message]));
  const whole = faultsOf(at).filter((f) => f.item < 0);
  return (
    <div class="step-form">
      <label>
        Name
        <input ref={first} value={step.name} maxLength={200} onInput={(e) => setStep(step.key, { name: e.currentTarget.value }, `name ${step.key}`)} />
      </label>
      <Items label="Patterns taught" patterns items={step.teach} faults={placed("teach")} hint="sh, ea as in sea, bl- …" onChange={(teach) => setStep(step.key, { teach })} />
      <Items label="Words taught whole" items={step.words} faults={placed("words")} hint="said, was …" onChange={(words) => setStep(step.key, { words })} />
      {whole.map((f) => (
        <strong class="fault" key={f.message}>
          {f.message}
        </strong>
      ))}
      <div class="buttons">
        <button type="button" class="quiet" disabled={at === 0} onClick={() => move(step.key, -1)}>
          Move up
        </button>
        <button type="button" class="quiet" disabled={at === count - 1} onClick={() => move(step.key, 1)}>
          Move down
        </button>
        <button type="button" class="quiet" onClick={() => addAfter(at)}>
          Add a step after this
        </button>
        <button type="button" class="quiet danger" disabled={count === 1} onClick={() => remove(step.key)}>
          Remove this step
        </button>
      </div>
    </div>
  );
}

function Effects({ document }: { document: Document }) {
  const found = effect.value;
  if (!found) return <aside class="beside" aria-label="What it does" />;
  const sum = (rows: Record<string, number>[], body: string) => rows.reduce((all, row) => all + (row[body] ?? 0), 0);
  const bodies = Object.keys(found.freed[0] ?? {});
  return (
    <aside class="beside" aria-label="What it does">
      {found.text ? (
        <section class="panel">
          <h2>{found.text.title}</h2>
          <Tide
            shares={found.text.readable_by_step}
            before={found.changed ? found.text.before : undefined}
            goal={0.95}
            step={chosen.value === null ? 0 : document.step.findIndex((s) => s.key === chosen.value) + 1}
            own={reader.value?.sequence === name.value ? (reader.value?.step_number ?? 0) : 0}
            names={document.step.map((s) => s.name)}
          />
          <p class="hint">
            {found.text.first_step_at_95 ? `95 % of the open text can be read from step ${found.text.first_step_at_95}.` : "95 % of the open text is not reached at any step."}
            {found.changed && found.text.before && " The thin line is the saved sequence."}
          </p>
        </section>
      ) : (
        <section class="panel">
          <h2>The open text</h2>
          <p class="hint">Open a text to see here how much of it each step frees.</p>
        </section>
      )}
      <section class="panel">
        <h2>Words freed</h2>
        {bodies.map((body) => (
          <p key={body}>
            <b>{number(sum(found.freed, body))}</b> {BODIES[body] ?? body} by the last step
            {found.changed && found.freed_before.length > 0 && `, ${number(sum(found.freed_before, body))} as saved`}
          </p>
        ))}
      </section>
      <section class="panel" aria-live="polite">
        <h2>Readers</h2>
        {!found.readers.length && <p class="hint">{found.changed ? "Nothing changes for your readers." : "Change something to see here which of your readers it touches."}</p>}
        <ul class="touched">
          {found.readers.map((r) => (
            <li key={r.id}>
              <b>{r.name}</b>
              {r.problem ? (
                <strong class="fault">{r.problem}</strong>
              ) : (
                <>
                  {r.step_before !== r.step_after && (
                    <span>
                      step {r.step_before} becomes step {r.step_after}
                    </span>
                  )}
                  {r.gained > 0 && (
                    <span>
                      {plural(r.gained, "word")} more: {r.gained_words.join(", ")}
                    </span>
                  )}
                  {r.lost > 0 && (
                    <span>
                      {plural(r.lost, "word")} fewer: {r.lost_words.join(", ")}
                    </span>
                  )}
                </>
              )}
            </li>
          ))}
        </ul>
      </section>
      {found.faults.length > 0 && (
        <section class="panel">
          <h2>Faults</h2>
          <ul class="faults">
            {found.faults.map((f) => (
              <li key={`${f.step}${f.field}${f.item}${f.message}`}>
                {f.step >= 0 ? (
                  <button type="button" class="quiet" onClick={() => (chosen.value = document.step[f.step]?.key ?? null)}>
                    Step {f.step + 1}
                  </button>
                ) : null}{" "}
                {f.message}
              </li>
            ))}
          </ul>
        </section>
      )}
    </aside>
  );
}
