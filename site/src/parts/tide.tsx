// The tide: how the readable share rises as more is taught. A click, or the slider under it, chooses a step.
import { percent } from "../words";

interface Props {
  shares: number[];
  /** The same before a change, drawn as a thin line. */
  before?: number[];
  goal: number;
  /** The step that is marked; 0: none. */
  step: number;
  /** The reader's own step; 0: none. */
  own: number;
  names: string[];
  onStep?: (step: number) => void;
}

const W = 600;
const H = 150;

function line(shares: number[]): string {
  const width = W / Math.max(shares.length, 1);
  return shares.map((share, n) => `${n ? "L" : "M"}${n * width} ${H - share * H}H${(n + 1) * width}`).join("");
}

export function Tide({ shares, before, goal, step, own, names, onStep }: Props) {
  const count = shares.length;
  if (!count) return null;
  const middle = (n: number) => ((n - 0.5) * W) / count;
  const at = Math.min(Math.max(step || count, 1), count);
  const told = (n: number) => `Step ${n}, ${names[n - 1] ?? ""}: ${percent(shares[n - 1]!)} readable`;
  const choose = (event: MouseEvent) => {
    const box = (event.currentTarget as Element).getBoundingClientRect();
    onStep?.(Math.min(count, Math.max(1, Math.ceil(((event.clientX - box.left) / box.width) * count))));
  };
  return (
    <div class="tide">
      <div class="tide-water">
        <svg viewBox={`0 0 ${W} ${H}`} preserveAspectRatio="none" aria-hidden="true" onClick={choose} class={onStep ? "can" : ""}>
          <path class="water" d={`${line(shares)}V${H}H0Z`} />
          {before && <path class="before" d={line(before)} />}
          <path class="surface" d={line(shares)} />
          <line class="goal" x1="0" x2={W} y1={H - goal * H} y2={H - goal * H} />
          {own > 0 && <line class="own" x1={middle(own)} x2={middle(own)} y1="0" y2={H} />}
          {step > 0 && <line class="here" x1={middle(at)} x2={middle(at)} y1="0" y2={H} />}
          {step > 0 && <ellipse class="buoy" cx={middle(at)} cy={H - shares[at - 1]! * H} rx="8" ry="8" />}
        </svg>
        <span class="tide-label top">100 %</span>
        <span class="tide-label goal-label">{percent(goal)}</span>
      </div>
      {onStep && (
        <input
          type="range"
          min="1"
          max={count}
          value={at}
          aria-label="Step to judge by"
          aria-valuetext={told(at)}
          onInput={(e) => onStep(Number(e.currentTarget.value))}
        />
      )}
      <p class="tide-told">{told(at)}</p>
    </div>
  );
}
