// The sequence that is being shaped: its steps, what a change does, undoing, saving.
import { signal } from "@preact/signals";
import { get, tell, Trouble } from "./api";
import { judgeAnew, open } from "./editor";
import type { Effect, PlacedFault, SequenceAbout, SequenceDocument, SequenceWhole, StepDocument } from "./shapes";
import { addHalfTyped } from "./parts/basics";
import { attempt, choose, loadDesk, message, notice, reader, said, sequences, settings } from "./state";

/** A step with a key of its own, so that it stays itself when it moves or is renamed. */
export type Step = StepDocument & { key: number };
export type Document = Omit<SequenceDocument, "step"> & { step: Step[] };
export interface Import {
  document: SequenceDocument;
  lines: number[];
  faults: PlacedFault[];
}

export const name = signal("");
export const saved = signal<SequenceWhole | null>(null);
export const now = signal<Document | null>(null);
export const effect = signal<Effect | null>(null);
export const past = signal<Document[]>([]);
export const chosen = signal<number | null>(null);
export const preview = signal<(Import & { file: string }) | null>(null);
let keys = 0;
let timer = 0;
let asked = 0;
let typed = { field: "", time: 0 };

export const keyed = (document: SequenceDocument): Document => ({ ...document, step: document.step.map((s) => ({ ...s, key: ++keys })) });
const plain = (document: Document): SequenceDocument => ({ ...document, step: document.step.map(({ key: _, ...s }) => s) });

export async function showSequence(which: string): Promise<void> {
  const found = await attempt(() => get<SequenceWhole>(`sequences/${which}`));
  if (!found) return;
  name.value = which;
  take(found, found.draft ?? found.document);
  if (settings.value.sequence !== which) void choose({ sequence: which });
}

export function take(found: SequenceWhole, document: SequenceDocument): void {
  saved.value = found;
  now.value = keyed(document);
  past.value = [];
  chosen.value = null;
  effect.value = null;
  void ask(0);
}

/** A change that can be undone; letters typed into one field without a pause (`field`) are one. */
export function change(next: Document, field = ""): void {
  const time = Date.now();
  const typing = field !== "" && field === typed.field && time - typed.time < 1500;
  if (!typing && now.value) past.value = [...past.value.slice(-199), now.value];
  typed = { field, time };
  now.value = next;
  void ask(150);
}

export function ask(wait: number): void {
  clearTimeout(timer);
  timer = window.setTimeout(async () => {
    if (!now.value) return;
    const mine = ++asked;
    try {
      const found = await tell<Effect>("POST", `sequences/${name.value}/effect`, {
        document: plain(now.value),
        text: open.value?.id ?? "",
        reader: reader.value?.id ?? "",
      });
      if (mine === asked) effect.value = found;
    } catch (error) {
      if (mine === asked) notice.value = { kind: "bad", text: message(error) };
    }
  }, wait);
}

export const steps = (): Step[] => now.value!.step;
const setSteps = (step: Step[], field = ""): void => change({ ...now.value!, step }, field);
export const setStep = (key: number, part: Partial<Step>, field = ""): void =>
  setSteps(
    steps().map((s) => (s.key === key ? { ...s, ...part } : s)),
    field,
  );

export function move(key: number, by: number): void {
  const list = [...steps()];
  const at = list.findIndex((s) => s.key === key);
  const to = at + by;
  if (to < 0 || to >= list.length) return;
  list.splice(to, 0, ...list.splice(at, 1));
  setSteps(list);
  said.value = `${list[to]!.name || "Step"}: now step ${to + 1} of ${list.length}`;
}

export function addAfter(at: number): void {
  const made: Step = { id: "", name: "", teach: [], words: [], key: ++keys };
  setSteps([...steps().slice(0, at + 1), made, ...steps().slice(at + 1)]);
  chosen.value = made.key;
}

export function remove(key: number): void {
  setSteps(steps().filter((s) => s.key !== key));
  chosen.value = null;
}

export function undo(): void {
  const before = past.value.at(-1);
  if (!before) return;
  past.value = past.value.slice(0, -1);
  now.value = before;
  typed = { field: "", time: 0 };
  void ask(0);
}

export async function save(asNew: boolean): Promise<void> {
  addHalfTyped();
  clearTimeout(timer);
  try {
    const done = await tell<SequenceWhole & { sequences: SequenceAbout[] }>("PUT", `sequences/${name.value}`, { document: plain(now.value!), as_new: asNew });
    sequences.value = done.sequences;
    name.value = done.name;
    take(done, done.document);
    await choose({ sequence: done.name });
    await loadDesk();
    judgeAnew();
    notice.value = { kind: "good", text: `“${done.title}” is saved in your own folder.` };
  } catch (error) {
    if (error instanceof Trouble && effect.value) effect.value = { ...effect.value, faults: (error.faults as PlacedFault[]).filter((f) => f.step !== undefined) };
    notice.value = { kind: "bad", text: message(error) };
  }
}
