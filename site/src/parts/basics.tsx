// Small parts that every screen uses.
import { useSignal } from "@preact/signals";
import type { ComponentChildren } from "preact";
import { useEffect, useId, useRef } from "preact/hooks";
import { get } from "../api";
import { VERDICTS } from "../words";
import type { Verdict } from "../shapes";

/** A button that opens a list of actions. */
export function Menu({ label, children, side = "left" }: { label: string; children: ComponentChildren; side?: "left" | "right" }) {
  const shown = useSignal(false);
  const box = useRef<HTMLDivElement>(null);
  const id = useId();
  useEffect(() => {
    if (!shown.value) return;
    const away = (event: Event) => {
      if (!box.current?.contains(event.target as Node)) shown.value = false;
    };
    addEventListener("pointerdown", away);
    addEventListener("focusin", away);
    return () => {
      removeEventListener("pointerdown", away);
      removeEventListener("focusin", away);
    };
  }, [shown.value]);
  return (
    <div
      class="menu"
      ref={box}
      onKeyDown={(e) => {
        if (e.key === "Escape" && shown.value) {
          shown.value = false;
          box.current?.querySelector("button")?.focus();
        }
      }}
    >
      <button type="button" class="quiet" aria-expanded={shown.value} aria-controls={id} onClick={() => (shown.value = !shown.value)}>
        {label} <span aria-hidden="true">▾</span>
      </button>
      {shown.value && (
        <div id={id} class={`menu-list ${side}`} onClick={(e) => (e.target as HTMLElement).closest("button") && (shown.value = false)}>
          {children}
        </div>
      )}
    </div>
  );
}

/** A question that must be answered before anything else. */
export function Dialog({ title, onClose, children }: { title: string; onClose: () => void; children: ComponentChildren }) {
  const box = useRef<HTMLDialogElement>(null);
  const id = useId();
  useEffect(() => {
    const before = document.activeElement as HTMLElement | null;
    box.current?.showModal();
    return () => before?.focus?.();
  }, []);
  return (
    <dialog ref={box} aria-labelledby={id} onClose={onClose} onCancel={onClose}>
      <h2 id={id}>{title}</h2>
      {children}
    </dialog>
  );
}

/** A verdict in its own line style, with its name. */
export function VerdictName({ verdict }: { verdict: Verdict }) {
  return <span class={`word ${verdict}`}>{VERDICTS[verdict].label}</span>;
}

interface ListProps {
  label: string;
  items: string[];
  onChange: (items: string[]) => void;
  /** What is wrong with single items. */
  faults?: Map<number, string>;
  /** Whether items are patterns, which are offered while they are typed. */
  patterns?: boolean;
  hint?: string;
}

const halfTyped = new Set<() => void>();

/** Adds what stands half typed in any list, before something is kept. */
export function addHalfTyped(): void {
  for (const add of [...halfTyped]) add();
}

/** A list of short items that can be added to and taken from. */
export function Items({ label, items, onChange, faults, patterns, hint }: ListProps) {
  const typed = useSignal("");
  const offers = useSignal<string[]>([]);
  const id = useId();
  const timer = useRef(0);
  const input = useRef<HTMLInputElement>(null);
  const look = (text: string) => {
    typed.value = text;
    if (!patterns) return;
    clearTimeout(timer.current);
    timer.current = window.setTimeout(() => {
      get<{ phrases: string[] }>("phrases", { q: text.split(/[,;]/).pop()!.trim() }).then(
        (found) => (offers.value = found.phrases),
        () => (offers.value = []),
      );
    }, 120);
  };
  const add = () => {
    const fresh = typed.value
      .split(/[,;\n]+/)
      .map((t) => t.trim())
      .filter((t) => t && !items.includes(t));
    if (fresh.length) onChange([...items, ...fresh]);
    typed.value = "";
  };
  const latest = useRef(add);
  latest.current = add;
  useEffect(() => {
    const now = () => latest.current();
    halfTyped.add(now);
    return () => void halfTyped.delete(now);
  }, []);
  return (
    <div class="items">
      <label for={id}>{label}</label>
      <ul aria-label={label}>
        {items.map((item, n) => {
          const fault = faults?.get(n);
          return (
            <li key={item} class={fault ? "item faulty" : "item"}>
              <span>{item}</span>
              <button
                type="button"
                aria-label={`Remove ${item}`}
                onClick={() => {
                  onChange(items.filter((_, k) => k !== n));
                  input.current?.focus();
                }}
              >
                <span aria-hidden="true">×</span>
              </button>
              {fault && <strong class="fault">{fault}</strong>}
            </li>
          );
        })}
      </ul>
      <div class="add">
        <input
          ref={input}
          id={id}
          value={typed.value}
          list={patterns ? `${id}-offers` : undefined}
          autocomplete="off"
          placeholder={hint}
          onFocus={() => patterns && !offers.value.length && look("")}
          onInput={(e) => look(e.currentTarget.value)}
          onKeyDown={(e) => {
            if (e.key === "Enter") {
              e.preventDefault();
              add();
            }
          }}
          // Later, so that nothing moves under a click that is under way.
          onBlur={() => setTimeout(() => latest.current(), 250)}
        />
        {patterns && (
          <datalist id={`${id}-offers`}>
            {offers.value.map((o) => (
              <option key={o} value={o} />
            ))}
          </datalist>
        )}
        <button type="button" class="quiet" onClick={add}>
          Add
        </button>
      </div>
    </div>
  );
}

/** A file that the user chooses. */
export function FileButton({ label, accept, onFile, kind = "quiet" }: { label: string; accept: string; onFile: (file: File) => void; kind?: string }) {
  const input = useRef<HTMLInputElement>(null);
  const take = () => {
    const file = input.current?.files?.[0];
    if (file) onFile(file);
    if (input.current) input.current.value = "";
  };
  return (
    <>
      <button type="button" class={kind} onClick={() => input.current?.click()}>
        {label}
      </button>
      <input ref={input} type="file" accept={accept} hidden onChange={take} aria-label={label} />
    </>
  );
}
