// Text: a text judged as it is typed, and beside it what can be read, what is the trouble, what to teach first.
import { useSignal } from "@preact/signals";
import { useEffect, useRef } from "preact/hooks";
import { download, get, getText, saveBlob, tell, upload } from "../api";
import { attach, current, figures, flush, focusText, judgeAnew, kept, lists, look, open, openText, show, step, take } from "../editor";
import { FileButton, Menu } from "../parts/basics";
import { WordCard } from "../parts/card";
import { Share } from "../parts/share";
import type { OpenText, TextAbout } from "../shapes";
import { attempt, choose, go, judged, notice, settings, texts } from "../state";
import { number, percent, plural } from "../words";

export function openFile(file: File): void {
  const opening = { kind: "good" as const, text: `Opening ${file.name} …` };
  notice.value = opening;
  void take(flush().then(() => upload<OpenText>("texts/open", file, { name: file.name }))).then(() => {
    if (notice.value === opening) notice.value = null;
  });
}

export function TextScreen() {
  const box = useRef<HTMLDivElement>(null);
  const over = useSignal(false);
  useEffect(() => attach(box.current!), []);
  return (
    <main class="text-screen" id="main">
      <h1 class="away">Text</h1>
      <section
        class={`sheet ${over.value ? "over" : ""}`}
        aria-label="The text"
        onDragOver={(e) => {
          if (e.dataTransfer?.types.includes("Files")) {
            e.preventDefault();
            over.value = true;
          }
        }}
        onDragLeave={() => (over.value = false)}
        onDropCapture={(e) => {
          over.value = false;
          const file = e.dataTransfer?.files[0];
          if (file) {
            e.preventDefault();
            e.stopPropagation();
            openFile(file);
          }
        }}
      >
        <Tools />
        <div class="editor" ref={box} data-size={settings.value.size} />
        <Foot />
      </section>
      <aside class="beside" aria-label="Beside the text">
        {figures.value?.counts.tokens.all || open.value?.title ? (
          <>
            <WordCard />
            <Share />
            <TeachFirst />
            <Flagged />
          </>
        ) : (
          <Start />
        )}
      </aside>
    </main>
  );
}

function Tools() {
  const text = open.value;
  const rename = async (change: Partial<TextAbout>) => {
    if (!text) return;
    await flush();
    const done = await attempt(() => tell<OpenText>("PATCH", `texts/${text.id}`, { title: text.title, markdown: text.markdown, ...change }));
    if (!done) return;
    open.value = { id: done.id, title: done.title, markdown: done.markdown };
    texts.value = texts.value.map((t) => (t.id === done.id ? open.value! : t));
    if ("markdown" in change) judgeAnew();
  };
  const blank = async () => {
    await flush();
    await take(tell<OpenText>("POST", "texts", { title: "Untitled" }));
    focusText();
  };
  const copy = async () => {
    await flush();
    const page = await attempt(() => getText(`texts/${text!.id}/report`, judged.value));
    if (page === undefined) return;
    const done = await navigator.clipboard?.writeText(page).then(
      () => true,
      () => false,
    );
    notice.value = done ? { kind: "good", text: "The report is copied." } : { kind: "bad", text: "The browser does not let the page copy. Save the report instead." };
  };
  return (
    <div class="tools">
      <label class="title">
        <span class="away">Title</span>
        <input
          value={text?.title ?? ""}
          placeholder="Untitled"
          maxLength={200}
          disabled={!text}
          onChange={(e) => void rename({ title: e.currentTarget.value.trim() || "Untitled" })}
        />
      </label>
      <div class="buttons">
        <button type="button" class="quiet" onClick={() => void blank()}>
          New
        </button>
        <FileButton label="Open" accept=".txt,.md,.markdown,text/*" onFile={openFile} />
        {texts.value.length > 1 && (
          <Menu label="Kept">
            {texts.value.map((t) => (
              <button key={t.id} type="button" aria-current={t.id === text?.id ? "true" : undefined} onClick={() => void openText(t.id)}>
                {t.title}
              </button>
            ))}
          </Menu>
        )}
        {text && (
          <Menu label="Save" side="right">
            <button type="button" onClick={() => void flush().then(() => attempt(() => download(`texts/${text.id}/file`, { reader: judged.value.reader })))}>
              Text as Markdown
            </button>
            <button type="button" onClick={() => void flush().then(() => attempt(() => download(`texts/${text.id}/report`, judged.value)))}>
              Report as Markdown
            </button>
            <button type="button" onClick={() => void copy()}>
              Copy the report
            </button>
          </Menu>
        )}
        {text && (
          <Menu label="More" side="right">
            <button type="button" aria-pressed={text.markdown} onClick={() => void rename({ markdown: !text.markdown })}>
              {text.markdown ? "Read as plain text" : "Read as Markdown"}
            </button>
            <button type="button" disabled={settings.value.size >= 5} onClick={() => void choose({ size: settings.value.size + 1 }).then(look)}>
              Larger letters
            </button>
            <button type="button" disabled={settings.value.size <= 1} onClick={() => void choose({ size: settings.value.size - 1 }).then(look)}>
              Smaller letters
            </button>
            <button type="button" class="danger" onClick={() => void erase(text)}>
              Erase this text
            </button>
          </Menu>
        )}
      </div>
    </div>
  );
}

async function erase(text: TextAbout): Promise<void> {
  await flush();
  const words = current();
  const done = await attempt(() => tell<{ texts: TextAbout[] }>("DELETE", `texts/${text.id}`));
  if (!done) return;
  texts.value = done.texts;
  if (done.texts[0]) await openText(done.texts[0].id);
  else {
    show(null);
    await choose({ text: "" });
  }
  notice.value = { kind: "good", text: `“${text.title}” is erased.`, undo: words ? () => void take(tell<OpenText>("POST", "texts", { ...text, id: undefined, text: words })) : undefined };
}

function Foot() {
  const { state, why } = kept.value;
  const counts = figures.value?.counts.tokens;
  return (
    <footer class="foot">
      <span class={`kept-${state}`}>
        {state === "kept" && (open.value ? "Kept on this machine" : "")}
        {state === "sending" && "Keeping …"}
        {(state === "away" || state === "trouble") && why}
      </span>
      {state === "away" && (
        <button type="button" class="quiet" onClick={() => saveBlob(new Blob([current()], { type: "text/plain" }), `${open.value?.title ?? "text"}.txt`)}>
          Save the text as a file
        </button>
      )}
      {counts && counts.all > 0 && (
        <span>
          {plural(counts.all, "word")}, {number(figures.value!.counts.types.all)} different
        </span>
      )}
      {figures.value && figures.value.flagged > 0 && (
        <span class="jump">
          <button type="button" class="quiet" onClick={() => void step(true)} aria-label="Flagged word before">
            ↑
          </button>
          <button type="button" class="quiet" onClick={() => void step(false)}>
            Next flagged ↓
          </button>
        </span>
      )}
    </footer>
  );
}

/** For who comes for the first time. */
function Start() {
  const samples = useSignal<{ name: string; title: string }[]>([]);
  useEffect(() => void attempt(async () => (samples.value = await get<{ name: string; title: string }[]>("texts/samples"))), []);
  return (
    <section class="panel start">
      <h2>Can they read it?</h2>
      <ol>
        <li>Type or paste a text, or open a file. Every word is judged at once.</li>
        <li>
          Say who reads:{" "}
          <button type="button" class="quiet" onClick={() => go("readers")}>
            Add a reader
          </button>
        </li>
        <li>Click a word to see its letters and sounds, why it is marked, and when it comes.</li>
      </ol>
      <label>
        Or begin with a page from Gull Point
        <select value="" onChange={(e) => e.currentTarget.value && void take(tell<OpenText>("POST", `texts/samples/${e.currentTarget.value}`))}>
          <option value="">choose one …</option>
          {samples.value.map((s) => (
            <option key={s.name} value={s.name}>
              {s.title}
            </option>
          ))}
        </select>
      </label>
    </section>
  );
}

function TeachFirst() {
  const gains = lists.value?.teach_first ?? [];
  if (!gains.length) return null;
  return (
    <section class="panel">
      <h2>What to teach first</h2>
      <ol class="gains">
        {gains.map((gain) => (
          <li key={gain.teach.join()}>
            <b>{gain.whole ? `the word ${gain.teach[0]}` : gain.teach.join(", ")}</b>
            <span>
              frees {plural(gain.tokens, "word")}: {gain.words.slice(0, 6).join(", ")}
              {gain.words.length > 6 && " …"}
            </span>
            <span class="then">then {percent(gain.readable_share)} readable</span>
          </li>
        ))}
      </ol>
    </section>
  );
}

function Flagged() {
  const found = lists.value;
  const all = useSignal(false);
  if (!found || (!found.flagged_words.length && !found.read_as_spelled.length)) return null;
  const shown = all.value ? found.flagged_words : found.flagged_words.slice(0, 12);
  return (
    <section class="panel">
      {found.flagged_words.length > 0 && (
        <>
          <h2>Flagged words</h2>
          <table class="flagged">
            <thead>
              <tr>
                <th scope="col">Word</th>
                <th scope="col">Times</th>
                <th scope="col">Comes</th>
              </tr>
            </thead>
            <tbody>
              {shown.map((w) => (
                <tr key={w.text}>
                  <th scope="row">
                    <button type="button" class={`word ${w.verdict}`} title={w.trouble} onClick={() => void step(false, w.text, false)}>
                      {w.letters.map(([run, lacks], n) => (lacks ? <b key={n} class="missing">{run}</b> : run))}
                    </button>
                  </th>
                  <td>{number(w.times)}</td>
                  <td>{w.verdict === "unknown" ? "how is it said?" : w.comes}</td>
                </tr>
              ))}
            </tbody>
          </table>
          {found.flagged_words.length > 12 && (
            <button type="button" class="quiet" aria-expanded={all.value} onClick={() => (all.value = !all.value)}>
              {all.value ? "Fewer" : `${found.flagged_types > found.flagged_words.length ? `The ${found.flagged_words.length} commonest` : "All"} of ${number(found.flagged_types)}`}
            </button>
          )}
        </>
      )}
      {found.read_as_spelled.length > 0 && <p class="hint">Read as spelled, please look: {found.read_as_spelled.slice(0, 20).join(", ")}.</p>}
      {found.reading_not_told.length > 0 && <p class="hint">Two readings, the harder was judged: {found.reading_not_told.join(", ")}.</p>}
    </section>
  );
}
