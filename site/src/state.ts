// What the whole page shares: what the program told it, and what was chosen.
import { computed, signal } from "@preact/signals";
import { get, tell, Trouble } from "./api";
import type { Desk, Reader, SequenceAbout, Settings, TextAbout } from "./shapes";

export type Screen = "text" | "sequence" | "readers";
export const SCREENS: { id: Screen; label: string }[] = [
  { id: "text", label: "Text" },
  { id: "sequence", label: "Sequence" },
  { id: "readers", label: "Readers" },
];

export const loaded = signal(false);
export const broken = signal("");
export const screen = signal<Screen>("text");
export const settings = signal<Settings>({ reader: "", text: "", sequence: "", theme: "", size: 2, compare: [] });
export const texts = signal<TextAbout[]>([]);
export const readers = signal<Reader[]>([]);
export const sequences = signal<SequenceAbout[]>([]);
export const folder = signal("");
/** Another step than the reader's, to look at; null: the reader's own. */
export const lookStep = signal<number | null>(null);
/** Said to a screen reader, politely. */
export const said = signal("");
/** A message for everyone, until it is closed. */
export const notice = signal<{ text: string; kind: "good" | "bad"; undo?: () => void } | null>(null);

export const reader = computed(() => readers.value.find((r) => r.id === settings.value.reader) ?? null);
export const sequence = computed(() => {
  const name = reader.value?.sequence ?? "gull-point";
  return sequences.value.find((s) => s.name === name) ?? null;
});
/** Whom a text is judged for, as the program is asked. */
export const judged = computed(() => ({ reader: reader.value?.id ?? "", step: lookStep.value }));

export function takeDesk(desk: Desk): void {
  settings.value = desk.settings;
  texts.value = desk.texts;
  readers.value = desk.readers;
  sequences.value = desk.sequences;
  folder.value = desk.folder;
}

export async function loadDesk(): Promise<Desk | null> {
  try {
    const desk = await get<Desk>("desk");
    takeDesk(desk);
    loaded.value = true;
    return desk;
  } catch (error) {
    broken.value = message(error);
    return null;
  }
}

export async function choose(change: Partial<Settings>): Promise<void> {
  settings.value = { ...settings.value, ...change };
  await attempt(() => tell("PUT", "settings", settings.value));
}

export function message(error: unknown): string {
  return error instanceof Error ? error.message : String(error);
}

/** Does something; what goes wrong is shown, and undefined comes back. */
export async function attempt<T>(work: () => Promise<T>): Promise<T | undefined> {
  try {
    return await work();
  } catch (error) {
    notice.value = { text: message(error), kind: "bad" };
    if (!(error instanceof Trouble)) console.error(error);
    return undefined;
  }
}

export function go(to: Screen): void {
  screen.value = to;
  history.replaceState(null, "", `#${to}`);
}

export const blankReader = (): Reader => ({
  id: "",
  name: "My reader",
  sequence: "gull-point",
  step: "",
  step_number: 0,
  step_name: "",
  unstressed: "",
  faults: [],
  patterns: [],
  not_secure: [],
  words: [],
  names: [],
  told: [],
});
