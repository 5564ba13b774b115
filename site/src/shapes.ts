// What the program tells the page: the same facts as its other faces give.

export type Verdict = "told" | "decodable" | "taught-whole" | "name" | "unknown" | "later" | "irregular";

export interface Settings {
  reader: string;
  text: string;
  sequence: string;
  theme: "" | "light" | "dark";
  size: number;
  compare: string[];
}
export interface TextAbout {
  id: string;
  title: string;
  markdown: boolean;
}
export interface OpenText extends TextAbout {
  text: string;
  revision: string;
}
export type ReaderList = "patterns" | "not_secure" | "words" | "names" | "told";
export interface Reader {
  id: string;
  name: string;
  sequence: string;
  title?: string;
  step: string;
  step_number: number;
  step_name: string;
  unstressed: "" | "allow" | "strict";
  faults: string[];
  patterns: string[];
  not_secure: string[];
  words: string[];
  names: string[];
  told: string[];
}
export interface SequenceAbout {
  name: string;
  title: string;
  own: boolean;
  note: string;
  steps: { id: string; name: string }[];
  faults: string[];
}
export interface Desk {
  version: string;
  folder: string;
  settings: Settings;
  texts: TextAbout[];
  readers: Reader[];
  sequences: SequenceAbout[];
  open: OpenText | null;
  counts: { texts: number; readers: number; sequences: number };
}
export type Counts = Record<Verdict | "all", number>;
export interface Figures {
  counts: { tokens: Counts; types: Counts };
  decodable_share: number;
  accuracy_potential: number;
  readable_share: number;
  flagged: number;
  flagged_types_per_100: number;
  met_once: number;
  band: string;
  goal: number;
  step: number;
  readable_by_step: number[];
  first_step_at_95: number | null;
}
export type Mark = [from: number, to: number, verdict: number, letters: [number, number][]];
export interface Seen {
  revision: string;
  trouble: string;
  verdicts: Verdict[];
  first: number;
  last: number;
  marks: Mark[];
  figures: Figures;
}
export interface FlaggedWord {
  text: string;
  times: number;
  verdict: Verdict;
  first_step: number | null;
  letters: [string, boolean][];
  trouble: string;
  patterns: string[];
  comes: string;
}
export interface Gain {
  teach: string[];
  whole: boolean;
  words: string[];
  tokens: number;
  readable_share: number;
  step: number | null;
}
export interface Lists {
  revision: string;
  flagged_words: FlaggedWord[];
  flagged_types: number;
  teach_first: Gain[];
  read_as_spelled: string[];
  reading_not_told: string[];
}
export interface Grapheme {
  letters: string;
  at: number[];
  sounds: string[];
  pattern: string;
  note?: string;
}
export interface Card {
  text: string;
  key: string;
  verdict: Verdict;
  first_step: number | null;
  allowance: string;
  note?: string;
  line: number;
  from: number;
  to: number;
  times: number;
  why: string;
  comes: string;
  own: boolean;
  missing: { pattern: string; letters: string; at: number[]; why: string; step: number | null; in_words: string }[];
  reading: {
    source: string;
    sense: string;
    graphemes: Grapheme[];
    syllables: [number, number][];
    shape: string;
    opens: { graphemes: (number | null)[]; further: { pattern: string; step: number | null }[] };
  } | null;
}
export interface StepDocument {
  id: string;
  name: string;
  teach: string[];
  words: string[];
}
export interface SequenceDocument {
  title: string;
  accent: string;
  unstressed: string;
  note: string;
  step: StepDocument[];
}
export interface PlacedFault {
  step: number;
  field: string;
  item: number;
  message: string;
}
export interface ReaderEffect {
  id: string;
  name: string;
  step_before: number | null;
  step_after: number | null;
  gained: number;
  lost: number;
  gained_words: string[];
  lost_words: string[];
  problem: string;
}
export interface Effect {
  faults: PlacedFault[];
  changed: boolean;
  freed: Record<string, number>[];
  freed_before: Record<string, number>[];
  readers: ReaderEffect[];
  text: { title: string; readable_by_step: number[]; before?: number[]; first_step_at_95: number | null } | null;
}
export interface SequenceWhole extends Omit<SequenceAbout, "steps"> {
  document: SequenceDocument;
  draft: SequenceDocument | null;
}
export interface ComparedReader extends Partial<Figures> {
  reader: string;
  error?: string;
  name?: string;
  sequence?: string;
  step_name?: string;
  steps?: number;
  flagged_words?: string[];
  flagged_types?: number;
}
