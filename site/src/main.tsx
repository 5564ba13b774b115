// The page: three screens under one head.
import { effect } from "@preact/signals";
import { render } from "preact";
import { useEffect } from "preact/hooks";
import { takeToken } from "./api";
import { judgeAnew, show, takeUnsent, unsent } from "./editor";
import { ReadersScreen, use } from "./screens/readers";
import { SequenceScreen } from "./screens/sequence";
import { openFile, TextScreen } from "./screens/text";
import { broken, choose, go, judged, loadDesk, loaded, notice, reader, readers, said, screen, SCREENS, settings, type Screen } from "./state";

function Page() {
  if (broken.value)
    return (
      <main class="broken" id="main">
        <h1>Decodable</h1>
        <p role="alert">{broken.value}</p>
      </main>
    );
  if (!loaded.value)
    return (
      <main class="broken" id="main">
        <h1>Decodable</h1>
        <p role="status">One moment …</p>
      </main>
    );
  return (
    <>
      <a class="skip" href="#main" onClick={(e) => (e.preventDefault(), document.querySelector<HTMLElement>("#main :is(.cm-content, button, select, input)")?.focus())}>
        To the {screen.value}
      </a>
      <Head />
      <Notice />
      {screen.value === "text" && <TextScreen />}
      {screen.value === "sequence" && <SequenceScreen />}
      {screen.value === "readers" && <ReadersScreen />}
      <div class="away" aria-live="polite">
        {said.value}
      </div>
    </>
  );
}

function Head() {
  const dark = settings.value.theme ? settings.value.theme === "dark" : matchMedia("(prefers-color-scheme: dark)").matches;
  const who = reader.value;
  return (
    <header class="page-head">
      <span class="sign" aria-hidden="true">
        <img src="/page/icon.svg" alt="" width="30" height="30" />
        Decodable
      </span>
      <nav aria-label="Screens">
        {SCREENS.map((s) => (
          <button key={s.id} type="button" aria-current={screen.value === s.id ? "page" : undefined} onClick={() => go(s.id)}>
            {s.label}
          </button>
        ))}
      </nav>
      <label class="who">
        <span>Reader</span>
        <select value={settings.value.reader} onChange={(e) => void use(e.currentTarget.value)}>
          <option value="">nobody in particular</option>
          {readers.value.map((r) => (
            <option key={r.id} value={r.id}>
              {r.name}
              {r.step_number ? `, step ${r.step_number}` : ""}
            </option>
          ))}
        </select>
        {who && who.faults.length > 0 && <strong class="fault">has faults: see Readers</strong>}
      </label>
      <button type="button" class="quiet theme" aria-pressed={dark} onClick={() => void choose({ theme: dark ? "light" : "dark" })}>
        Dark
      </button>
    </header>
  );
}

function Notice() {
  const found = notice.value;
  useEffect(() => {
    if (found?.kind !== "good" || found.undo) return;
    const timer = setTimeout(() => notice.value === found && (notice.value = null), 7000);
    return () => clearTimeout(timer);
  }, [found]);
  return (
    <div class="notices" role={found?.kind === "bad" ? "alert" : "status"}>
      {found && (
        <p class={`notice ${found.kind}`}>
          <span>{found.text}</span>
          {found.undo && (
            <button type="button" class="quiet" onClick={() => (found.undo!(), (notice.value = null))}>
              Bring it back
            </button>
          )}
          <button type="button" class="close" aria-label="Close the message" onClick={() => (notice.value = null)}>
            <span aria-hidden="true">×</span>
          </button>
        </p>
      )}
    </div>
  );
}

takeToken();
effect(() => {
  const { theme } = settings.value;
  if (theme) document.documentElement.dataset.theme = theme;
  else delete document.documentElement.dataset.theme;
});
effect(() => {
  document.title = `${SCREENS.find((s) => s.id === screen.value)!.label}: Decodable`;
});
const wanted = location.hash.slice(1);
if (SCREENS.some((s) => s.id === wanted)) screen.value = wanted as Screen;

render(<Page />, document.getElementById("page")!);
addEventListener("beforeunload", (event) => {
  if (unsent()) event.preventDefault();
});
addEventListener("dragover", (event) => event.dataTransfer?.types.includes("Files") && event.preventDefault());
addEventListener("drop", (event) => {
  // A file dropped beside the sheet is opened, too, and never takes the place of the page.
  const file = event.dataTransfer?.files[0];
  if (!file || event.defaultPrevented) return;
  event.preventDefault();
  go("text");
  openFile(file);
});

const desk = await loadDesk();
if (desk) {
  show(desk.open);
  await takeUnsent();
  // Another reader, another step, or something new about the reader: the text is judged anew.
  let before = JSON.stringify([judged.value, reader.value]);
  effect(() => {
    const now = JSON.stringify([judged.value, reader.value]);
    if (now !== before) {
      before = now;
      judgeAnew();
    }
  });
}
