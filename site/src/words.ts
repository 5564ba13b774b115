// The page's own words: short, and the same everywhere.
import type { Verdict } from "./shapes";

export const VERDICTS: Record<Verdict, { label: string; means: string }> = {
  decodable: { label: "decodable", means: "every pattern has been taught" },
  "taught-whole": { label: "taught whole", means: "known as a whole word" },
  name: { label: "known name", means: "a name this reader knows" },
  told: { label: "told", means: "an adult says it" },
  later: { label: "later", means: "comes at a later step" },
  irregular: { label: "irregular", means: "never comes in this sequence" },
  unknown: { label: "unknown", means: "how is it said?" },
};
export const SHOWN: Verdict[] = ["decodable", "taught-whole", "name", "told", "later", "irregular", "unknown"];

/** A share as a percentage; a share short of all never reads as all. */
export function percent(share: number): string {
  const shown = share < 1 ? Math.min(Math.round(share * 1000) / 10, 99.9) : 100;
  return `${shown} %`;
}

export const number = (n: number): string => n.toLocaleString("en-GB");

export const plural = (n: number, one: string, many = `${one}s`): string => `${number(n)} ${n === 1 ? one : many}`;

/** The names of the bodies of words that a step's count is taken over. */
export const BODIES: Record<string, string> = { children: "children’s words", dictionary: "dictionary words" };
