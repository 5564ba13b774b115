// The text, as it is typed: what changes goes to the program, what is seen comes back marked.
import { defaultKeymap, history, historyKeymap } from "@codemirror/commands";
import { search, searchKeymap } from "@codemirror/search";
import { ChangeSet, Compartment, EditorState, RangeSet, StateEffect, StateField, type Extension } from "@codemirror/state";
import { Decoration, drawSelection, EditorView, keymap, placeholder, type DecorationSet } from "@codemirror/view";
import { signal } from "@preact/signals";
import { get, tell, Trouble } from "./api";
import type { Card, Figures, Lists, OpenText, Seen, TextAbout } from "./shapes";
import { attempt, choose, judged, message, notice, said, texts } from "./state";
import { VERDICTS } from "./words";

export const open = signal<TextAbout | null>(null);
export const figures = signal<Figures | null>(null);
export const lists = signal<Lists | null>(null);
export const card = signal<Card | null>(null);
/** kept: the program has every key; sending; away: it can't be reached; trouble: it can't write. */
export const kept = signal<{ state: "kept" | "sending" | "away" | "trouble"; why: string }>({ state: "kept", why: "" });

const UNSENT = "decodable.unsent";
const REST = 350;

let view: EditorView | null = null;
let base = "";
let pending: ChangeSet | null = null;
let sending = false;
let retry = 0;
let restTimer = 0;
let seenTimer = 0;
let cardTimer = 0;
let asked = 0;
let picks = 0;
/** Where the text was scrolled to when the screen was left. */
let place = 0;

// ------------------------------------------------------------------ marks
const setMarks = StateEffect.define<{ first: number; last: number; marks: DecorationSet }>();
const clearMarks = StateEffect.define<null>();
const setPicked = StateEffect.define<{ from: number; to: number } | null>();

const marksField = StateField.define<DecorationSet>({
  create: () => Decoration.none,
  update(marks, change) {
    marks = marks.map(change.changes);
    for (const effect of change.effects) {
      if (effect.is(clearMarks)) marks = Decoration.none;
      if (effect.is(setMarks)) {
        const { first, last, marks: fresh } = effect.value;
        marks = marks.update({ filterFrom: first, filterTo: last, filter: () => false });
        marks = RangeSet.join([marks, fresh]);
      }
    }
    return marks;
  },
  provide: (field) => EditorView.decorations.from(field),
});

const pickedField = StateField.define<DecorationSet>({
  create: () => Decoration.none,
  update(picked, change) {
    picked = picked.map(change.changes);
    for (const effect of change.effects)
      if (effect.is(setPicked))
        picked = effect.value ? Decoration.set([Decoration.mark({ class: "picked" }).range(effect.value.from, effect.value.to)]) : Decoration.none;
    return picked;
  },
  provide: (field) => EditorView.decorations.from(field),
});

const LETTERS = Decoration.mark({ class: "missing" });
const WORDS = new Map(
  Object.entries(VERDICTS).map(([verdict, { label, means }]) => [
    verdict,
    Decoration.mark({ class: `word ${verdict}`, attributes: { title: `${label}: ${means}` } }),
  ]),
);

function decorations(seen: Seen): DecorationSet {
  const out = [];
  for (const [from, to, code, letters] of seen.marks) {
    out.push(WORDS.get(seen.verdicts[code]!)!.range(from, to));
    for (const [a, b] of letters) out.push(LETTERS.range(a, b));
  }
  return Decoration.set(out, true);
}

// ------------------------------------------------------------------ the editor
const labelled = new Compartment();

const extensions: Extension[] = [
  history(),
  drawSelection(),
  search({ top: true }),
  keymap.of([
    { key: "F8", run: () => (void step(false), true), shift: () => (void step(true), true) },
    { key: "Mod-Enter", run: () => (focusCard(), true) },
    ...historyKeymap,
    ...searchKeymap,
    ...defaultKeymap,
  ]),
  EditorView.lineWrapping,
  EditorView.contentAttributes.of({ tabindex: "0", spellcheck: "false", autocorrect: "off", autocapitalize: "off" }),
  labelled.of(EditorView.contentAttributes.of({ "aria-label": "The text" })),
  placeholder("Type or paste a text, or drop a file here."),
  marksField,
  pickedField,
  EditorView.updateListener.of((update) => {
    if (update.docChanged) {
      pending = pending ? pending.compose(update.changes) : update.changes;
      kept.value = { state: "sending", why: "" };
      clearTimeout(cardTimer);
      picks++; // a card that is under way is of the text before
      void send();
    } else if (update.viewportChanged) {
      clearTimeout(seenTimer);
      seenTimer = window.setTimeout(() => void look(), 60);
    }
    if (update.selectionSet && !update.docChanged) {
      clearTimeout(cardTimer);
      cardTimer = window.setTimeout(() => void pick(update.state.selection.main.head), 120);
    }
  }),
];

function state(doc: string): EditorState {
  const nonce = document.querySelector<HTMLMetaElement>('meta[property="csp-nonce"]')?.nonce ?? "";
  return EditorState.create({ doc, extensions: [EditorView.cspNonce.of(nonce), ...extensions] });
}

function made(): EditorView {
  const fresh = new EditorView({ state: state("") });
  fresh.scrollDOM.addEventListener("scroll", () => (place = fresh.scrollDOM.scrollTop));
  return fresh;
}

/** Puts the editor into the page; coming back to the screen finds the text as it was. */
export function attach(parent: HTMLElement): void {
  view ??= made();
  parent.append(view.dom);
  view.scrollDOM.scrollTop = place;
  view.requestMeasure();
  void look();
}

export const focusText = (): void => view?.focus();

function focusCard(): void {
  document.querySelector<HTMLElement>("#word-card")?.focus();
}

/** Shows a text that the program has kept. */
export function show(text: OpenText | null): void {
  open.value = text && { id: text.id, title: text.title, markdown: text.markdown };
  base = text?.revision ?? "";
  pending = null;
  figures.value = lists.value = card.value = null;
  kept.value = { state: "kept", why: "" };
  view ??= made();
  view.setState(state(text?.text ?? ""));
  place = 0;
  view.scrollDOM.scrollTop = 0;
  void look();
}

/** Opens one of the kept texts. */
export async function openText(id: string): Promise<void> {
  await flush();
  const text = await attempt(() => get<OpenText>(`texts/${id}`));
  if (text) {
    show(text);
    await choose({ text: id });
  }
}

/** Keeps a new text and opens it; the one before stays among the kept ones. */
export async function take(made: Promise<OpenText>): Promise<void> {
  const text = await attempt(() => made);
  if (!text) return;
  texts.value = [{ id: text.id, title: text.title, markdown: text.markdown }, ...texts.value.filter((t) => t.id !== text.id)];
  show(text);
  await choose({ text: text.id });
}

export const current = (): string => view?.state.doc.toString() ?? "";

// ------------------------------------------------------------------ sending
async function send(): Promise<void> {
  if (sending || !pending || !view) return;
  if (!open.value) return begin();
  sending = true;
  const changes = pending;
  const id = open.value.id;
  pending = null;
  let done: Promise<unknown> = Promise.resolve();
  try {
    const seen = await tell<Seen>("POST", `texts/${id}/edit`, {
      base,
      changes: changes.toJSON(),
      view: { first: view.viewport.from, last: view.viewport.to },
      ...judged.value,
    });
    if (open.value?.id === id) {
      base = seen.revision;
      retry = 0;
      sessionStorage.removeItem(UNSENT);
      kept.value = seen.trouble ? { state: "trouble", why: seen.trouble } : pending ? kept.value : { state: "kept", why: "" };
      apply(seen);
      rest();
    }
  } catch (error) {
    if (open.value?.id === id) {
      pending = pending ? changes.compose(pending) : changes;
      done = failed(error);
    }
  }
  sending = false;
  await done;
  if (pending && !retry) void send();
}

/** The first key where no text is open: one is kept from now on. */
async function begin(): Promise<void> {
  sending = true;
  const before = pending!;
  pending = null;
  const mine = current();
  try {
    const made = await tell<OpenText>("POST", "texts", { title: "Untitled", text: mine });
    open.value = { id: made.id, title: made.title, markdown: made.markdown };
    texts.value = [open.value, ...texts.value];
    base = made.revision;
    kept.value = { state: pending ? "sending" : "kept", why: "" };
    void choose({ text: made.id });
  } catch (error) {
    pending = pending ? before.compose(pending) : before;
    kept.value = { state: "away", why: message(error) };
    retry = window.setTimeout(() => ((retry = 0), void send()), 1500);
  }
  sending = false;
  if (pending && !retry) void send();
  else void look();
}

async function failed(error: unknown): Promise<void> {
  const status = error instanceof Trouble ? error.status : 500;
  if (status === 409 || status === 404) {
    await keepCopy(status === 404);
    return;
  }
  kept.value = { state: "away", why: message(error) };
  if (view && open.value) sessionStorage.setItem(UNSENT, JSON.stringify({ ...open.value, text: current() }));
  if (status !== 400) retry = window.setTimeout(() => ((retry = 0), void send()), 1500);
  else await keepCopy(false);
}

/** Another window changed this text, or it was erased: ours is kept as a text of its own. */
async function keepCopy(gone: boolean): Promise<void> {
  const mine = current();
  const about = open.value;
  if (!about) return;
  try {
    const theirs = gone ? null : await get<OpenText>(`texts/${about.id}`);
    if (theirs?.text === mine) {
      base = theirs.revision;
      pending = null;
      kept.value = { state: "kept", why: "" };
      return void look();
    }
    const made = await tell<OpenText>("POST", "texts", { title: `${about.title} (kept copy)`.slice(0, 200), text: mine, markdown: about.markdown });
    texts.value = [{ id: made.id, title: made.title, markdown: made.markdown }, ...texts.value];
    open.value = { id: made.id, title: made.title, markdown: made.markdown };
    base = made.revision;
    const now = current();
    pending = now === mine ? null : ChangeSet.of([{ from: 0, to: mine.length, insert: now }], mine.length);
    await choose({ text: made.id });
    kept.value = { state: pending ? "sending" : "kept", why: "" };
    notice.value = { text: `This text was changed elsewhere. Yours is kept as “${made.title}”.`, kind: "bad" };
    void look();
  } catch (error) {
    kept.value = { state: "away", why: message(error) };
    sessionStorage.setItem(UNSENT, JSON.stringify({ ...about, text: mine }));
    retry = window.setTimeout(() => ((retry = 0), void send()), 1500);
  }
}

/** What a page could not send before it was loaded again. */
export async function takeUnsent(): Promise<void> {
  const found = sessionStorage.getItem(UNSENT);
  if (!found) return;
  const lost = JSON.parse(found) as OpenText;
  sessionStorage.removeItem(UNSENT);
  if (open.value?.id === lost.id && view) {
    if (current() !== lost.text) view.dispatch({ changes: { from: 0, to: view.state.doc.length, insert: lost.text } });
  } else await take(tell<OpenText>("POST", "texts", { title: lost.title, text: lost.text, markdown: lost.markdown }));
}

/** Waits until every key has arrived. */
export async function flush(): Promise<void> {
  for (let n = 0; n < 200 && (pending || sending); n++) await new Promise((done) => setTimeout(done, 15));
}

export const unsent = (): boolean => pending !== null || sending;

// ------------------------------------------------------------------ looking
function apply(seen: Seen): void {
  if (!view) return;
  let marks = decorations(seen);
  let { first, last } = seen;
  if (pending) {
    marks = marks.map(pending);
    first = pending.mapPos(first, -1);
    last = pending.mapPos(last, 1);
  }
  if (last > view.state.doc.length) last = view.state.doc.length;
  view.dispatch({ effects: setMarks.of({ first, last, marks }) });
  figures.value = seen.figures;
}

/** Has what is seen marked for the present reader. */
export async function look(): Promise<void> {
  if (!view || !open.value || pending || sending) return;
  const now = ++asked;
  const { from, to } = view.viewport;
  try {
    const seen = await get<Seen>(`texts/${open.value.id}/marks`, { first: from, last: to, ...judged.value });
    if (now !== asked || pending || sending) return;
    if (seen.revision !== base) return void keepCopy(false);
    apply(seen);
    if (!lists.value || lists.value.revision !== base) rest(0);
  } catch (error) {
    if (now === asked && open.value) notice.value = { text: message(error), kind: "bad" };
  }
}

/** Judges anew: another reader, another step, a word that is now known. */
export function judgeAnew(): void {
  view?.dispatch({ effects: clearMarks.of(null) });
  lists.value = null;
  void look();
  const shown = card.value;
  if (shown) void pick(shown.from, true);
}

function rest(wait = REST): void {
  clearTimeout(restTimer);
  restTimer = window.setTimeout(async () => {
    const id = open.value?.id;
    if (!id || pending || sending) return;
    try {
      const found = await get<Lists>(`texts/${id}/lists`, judged.value);
      if (found.revision === base) lists.value = found;
    } catch (error) {
      if (open.value?.id === id) notice.value = { text: message(error), kind: "bad" };
    }
  }, wait);
}

// ------------------------------------------------------------------ one word
function showCard(found: Card | null, quiet = false): void {
  card.value = found;
  if (!view) return;
  const fits = found && found.to <= view.state.doc.length;
  view.dispatch({ effects: setPicked.of(fits ? { from: found.from, to: found.to } : null) });
  if (found && !quiet && !document.activeElement?.closest(".beside")) document.querySelector(".beside")?.scrollTo({ top: 0 });
  if (found && !quiet) said.value = `${found.text}: ${VERDICTS[found.verdict].label}. ${found.why}`;
}

/** Shows the card of the word at an offset. */
export async function pick(at: number, quiet = false): Promise<void> {
  const mine = ++picks;
  await flush();
  if (!open.value || pending || sending || mine !== picks) return;
  const found = await attempt(() => get<{ word: Card | null }>(`texts/${open.value!.id}/word`, { at, ...judged.value }));
  if (found && !pending && mine === picks) showCard(found.word, quiet);
}

export function closeCard(): void {
  showCard(null);
  focusText();
}

/** Goes to the next place of a word, or of any flagged one. */
export async function step(back: boolean, word = "", focus = true): Promise<void> {
  await flush();
  if (!view || !open.value) return;
  const at = card.value && word ? card.value.from : view.state.selection.main.head;
  const found = await attempt(() => get<{ word: Card | null }>(`texts/${open.value!.id}/next`, { at, word, back, ...judged.value }));
  if (!found?.word) {
    said.value = "No flagged words.";
    return;
  }
  clearTimeout(cardTimer);
  const { from } = found.word;
  view.dispatch({ selection: { anchor: from }, effects: EditorView.scrollIntoView(from, { y: "center" }) });
  clearTimeout(cardTimer);
  showCard(found.word);
  if (focus) view.focus();
  else if (matchMedia("(max-width: 980px)").matches) view.dom.scrollIntoView({ block: "start" });
}
