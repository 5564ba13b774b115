// What can be read: the shares, and how the readable one rises as more is taught.
import { tell } from "../api";
import { figures, open } from "../editor";
import type { Reader } from "../shapes";
import { attempt, blankReader, choose, lookStep, reader, readers, sequence } from "../state";
import { number, percent, SHOWN, VERDICTS } from "../words";
import { VerdictName } from "./basics";
import { Tide } from "./tide";

export function Share() {
  const found = figures.value;
  const names = sequence.value?.steps.map((s) => s.name) ?? [];
  if (!found || !found.counts.tokens.all)
    return (
      <section class="panel">
        <h2>What can be read</h2>
        <p class="hint">{!found && open.value ? "One moment …" : "It shows here as soon as there are words."}</p>
      </section>
    );
  const own = reader.value?.step_number ?? 0;
  const at = lookStep.value ?? own;
  const all = found.counts.tokens.all;
  const use = async () => {
    const who = reader.value;
    const id = sequence.value?.steps[at - 1]?.id ?? String(at);
    const { id: _, title: _t, step_number: _n, step_name: _s, faults: _f, ...document } = who ?? blankReader();
    const done = await attempt(() => tell<{ id: string; readers: Reader[] }>(who ? "PUT" : "POST", who ? `readers/${who.id}` : "readers", { ...document, step: id }));
    if (!done) return;
    readers.value = done.readers;
    lookStep.value = null;
    await choose({ reader: done.id });
  };
  return (
    <section class="panel" aria-label="What can be read">
      <h2>What can be read</h2>
      <p class="big">
        <b>{percent(found.readable_share)}</b> readable{at ? `: ${found.band}` : " once every step is taught"}
      </p>
      <div class="bar" aria-hidden="true">
        {SHOWN.filter((v) => found.counts.tokens[v]).map((v) => (
          <span key={v} class={`part ${v}`} style={{ flexGrow: found.counts.tokens[v] }} />
        ))}
      </div>
      <table class="shares">
        <caption class="away">Words by verdict</caption>
        <thead class="away">
          <tr>
            <th scope="col">Verdict</th>
            <th scope="col">Words</th>
            <th scope="col">Different words</th>
          </tr>
        </thead>
        <tbody>
          {SHOWN.filter((v) => found.counts.tokens[v]).map((v) => (
            <tr key={v}>
              <th scope="row">
                <VerdictName verdict={v} /> <small>{VERDICTS[v].means}</small>
              </th>
              <td>{number(found.counts.tokens[v])}</td>
              <td class="different">{number(found.counts.types[v])}</td>
            </tr>
          ))}
          <tr class="sum">
            <th scope="row">all</th>
            <td>{number(all)}</td>
            <td class="different">{number(found.counts.types.all)}</td>
          </tr>
        </tbody>
      </table>
      <h3>As more is taught</h3>
      <Tide shares={found.readable_by_step} goal={found.goal} step={at} own={own} names={names} onStep={(n) => (lookStep.value = n === own ? null : n)} />
      <p class="hint">
        {found.first_step_at_95
          ? `${percent(found.goal)} can be read from step ${found.first_step_at_95}, ${names[found.first_step_at_95 - 1]}.`
          : `${percent(found.goal)} is not reached at any step.`}
      </p>
      {lookStep.value !== null && (
        <div class="look" role="status">
          <p>
            Judged at step {lookStep.value}.{own > 0 && ` ${reader.value!.name} is at step ${own}.`}
          </p>
          <button type="button" class="quiet" onClick={() => (lookStep.value = null)}>
            {own ? `Back to step ${own}` : "Back to all steps"}
          </button>
          <button type="button" class="quiet" onClick={() => void use()}>
            {reader.value ? `Move ${reader.value.name} here` : "Make a reader at this step"}
          </button>
        </div>
      )}
      <dl class="more">
        <div>
          <dt>Decodable</dt>
          <dd>{percent(found.decodable_share)}</dd>
        </div>
        <div>
          <dt>Accuracy potential</dt>
          <dd>{percent(found.accuracy_potential)}</dd>
        </div>
        <div>
          <dt>Flagged, different words in each 100</dt>
          <dd>{found.flagged_types_per_100}</dd>
        </div>
        <div>
          <dt>Words met once</dt>
          <dd>{number(found.met_once)}</dd>
        </div>
      </dl>
    </section>
  );
}
