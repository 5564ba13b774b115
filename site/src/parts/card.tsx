// The card of one word: its letters and sounds, why it has its verdict, when it comes, and what to say of it.
import { useSignal } from "@preact/signals";
import { useEffect } from "preact/hooks";
import { tell } from "../api";
import { card, closeCard, judgeAnew, step } from "../editor";
import type { Card as Facts, Reader } from "../shapes";
import { attempt, choose, notice, reader, readers, sequence } from "../state";
import { number, plural } from "../words";
import { VerdictName } from "./basics";

type List = "names" | "words" | "told";
const MARKS: { mark: List; label: string }[] = [
  { mark: "names", label: "A name they know" },
  { mark: "words", label: "Taught whole" },
  { mark: "told", label: "Told" },
];

export function WordCard() {
  const facts = card.value;
  const like = useSignal("");
  useEffect(() => {
    like.value = "";
  }, [facts?.key]);
  if (!facts)
    return (
      <section class="card empty" aria-label="Word">
        <p>Click a word to see its letters and sounds.</p>
        <p class="hint">
          <kbd>F8</kbd> goes to the next flagged word.
        </p>
      </section>
    );
  const mark = async (list: List, on: boolean) => {
    const done = await attempt(() =>
      tell<{ id: string; readers: Reader[] }>("POST", "readers/mark", { reader: reader.value?.id ?? "", word: list === "names" ? name(facts) : facts.key, mark: list, on }),
    );
    if (!done) return;
    readers.value = done.readers;
    if (done.id !== reader.value?.id) await choose({ reader: done.id });
  };
  const fix = async (said: string) => {
    const done = await attempt(() => tell("POST", "words/fix", { word: facts.key, like: said }));
    if (!done) return;
    notice.value = { kind: "good", text: said ? `“${facts.text}” is said like “${said}” from now on.` : `“${facts.text}” is said as before.` };
    judgeAnew();
  };
  const held = (list: List) => (reader.value?.[list] ?? []).some((w) => w.toLowerCase() === facts.key || w.toLowerCase() === name(facts).toLowerCase());
  return (
    <section class="card" id="word-card" tabIndex={-1} aria-label={`Word: ${facts.text}`} onKeyDown={(e) => e.key === "Escape" && closeCard()}>
      <header>
        <h2>{facts.text}</h2>
        <VerdictName verdict={facts.verdict} />
        <button type="button" class="close" aria-label="Close the word" onClick={closeCard}>
          <span aria-hidden="true">×</span>
        </button>
      </header>
      <Letters facts={facts} />
      <p>{facts.why}</p>
      {facts.note && <p class="hint">{facts.note[0]!.toUpperCase() + facts.note.slice(1)}.</p>}
      {facts.missing.length > 0 && (
        <ul class="why">
          {facts.missing.map((m) => (
            <li key={m.pattern}>
              <b>{m.pattern}</b> {m.in_words}
            </li>
          ))}
        </ul>
      )}
      <div class="marks" role="group" aria-label={`For ${reader.value?.name || "a new reader"}`}>
        {MARKS.map(({ mark: list, label }) => (
          <button key={list} type="button" class="toggle" aria-pressed={held(list)} onClick={() => void mark(list, !held(list))}>
            {label}
          </button>
        ))}
      </div>
      <form
        class="like"
        onSubmit={(e) => {
          e.preventDefault();
          if (like.value.trim()) void fix(like.value.trim());
        }}
      >
        <label>
          Said like <input value={like.value} placeholder="a word that rhymes" maxLength={100} onInput={(e) => (like.value = e.currentTarget.value)} />
        </label>
        <button type="submit" class="quiet">
          Keep
        </button>
        {facts.own && (
          <button type="button" class="quiet" onClick={() => void fix("")}>
            As before
          </button>
        )}
      </form>
      <p class="times">
        {plural(facts.times, "time")} in this text
        {facts.times > 1 && (
          <button type="button" class="quiet" onClick={() => void step(false, facts.text, false)}>
            Next
          </button>
        )}
      </p>
    </section>
  );
}

const name = (facts: Facts): string => facts.text.replace(/['’]s?$/, "");

/** The word's letters in their groups, each with the keyword of its sound and the step it comes at. */
function Letters({ facts }: { facts: Facts }) {
  const reading = facts.reading;
  if (!reading) return null;
  const same = facts.text.length === [...reading.graphemes.flatMap((g) => g.at)].length;
  const wanting = new Map(facts.missing.flatMap((m) => m.at.map((at) => [at, m] as const)));
  const runs: { at: number; letters: string; grapheme: (typeof reading.graphemes)[0]; index: number; rest: boolean }[] = [];
  reading.graphemes.forEach((grapheme, index) => {
    let run: (typeof runs)[0] | null = null;
    grapheme.at.forEach((at, k) => {
      const letter = same ? facts.text[at]! : grapheme.letters.replace("-", "")[k]!;
      if (run && grapheme.at[k - 1] === at - 1) run.letters += letter;
      else runs.push((run = { at, letters: letter, grapheme, index, rest: k > 0 }));
    });
  });
  runs.sort((a, b) => a.at - b.at);
  const breaks = new Set(reading.syllables.slice(1).map(([start]) => start));
  return (
    <>
      <ol class="letters" aria-label="Letters and sounds">
        {runs.map((run) => {
          const lacks = wanting.get(run.at);
          const opens = reading.opens.graphemes[run.index];
          const keyword = run.grapheme.pattern.split(" as in ")[1];
          const told = run.rest ? `with ${run.grapheme.letters}` : !run.grapheme.sounds.length ? "silent" : keyword ? `as in ${keyword}` : run.grapheme.pattern;
          return (
            <li key={run.at} class={`${lacks ? "lacks" : ""} ${breaks.has(run.at) ? "syllable" : ""}`}>
              <b>{run.letters}</b>
              <span>{told}</span>
              {lacks && !run.rest && <em>{opens ? `step ${number(opens)}` : "never"}</em>}
            </li>
          );
        })}
      </ol>
      {reading.opens.further.length > 0 && (
        <p class="hint">
          Also needs{" "}
          {reading.opens.further.map((f, n) => (
            <span key={f.pattern}>
              {n > 0 && ", "}
              {f.pattern} ({f.step ? `step ${f.step}` : "never"})
            </span>
          ))}
        </p>
      )}
      {reading.source === "predicted" && <p class="hint">A guess: how is it said?</p>}
      {!sequence.value && <p class="hint">The sequence has faults.</p>}
    </>
  );
}
