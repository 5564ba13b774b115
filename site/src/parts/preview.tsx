// What is in a spreadsheet, looked at before it is taken over.
import { Dialog } from "./basics";
import { change, chosen, keyed, preview, type Import } from "../shaping";
import { notice } from "../state";
import { plural } from "../words";

export function Preview({ found }: { found: Import & { file: string } }) {
  const wrong = (n: number) => found.faults.filter((f) => f.step === n);
  const close = () => (preview.value = null);
  const use = () => {
    change(keyed({ ...found.document, note: found.document.note || `Imported from ${found.file}.` }));
    chosen.value = null;
    close();
    notice.value = { kind: "good", text: "The spreadsheet is here to be looked at. Save it when it is right." };
  };
  return (
    <Dialog title={`${found.file}: ${plural(found.document.step.length, "step")}`} onClose={close}>
      <p>{found.faults.length ? `${plural(found.faults.length, "fault")}, to be put right after you take it over.` : "Every pattern is understood."}</p>
      <div class="scroll" tabIndex={0} role="region" aria-label="The steps of the file">
        <table class="preview">
          <thead>
            <tr>
              <th scope="col">Row</th>
              <th scope="col">Step</th>
              <th scope="col">Patterns taught</th>
              <th scope="col">Words taught whole</th>
            </tr>
          </thead>
          <tbody>
            {found.document.step.map((s, n) => (
              <tr key={n} class={wrong(n).length ? "faulty" : ""}>
                <td>{found.lines[n] ?? n + 1}</td>
                <th scope="row">{s.name || s.id}</th>
                <td>
                  {s.teach.join(", ")}
                  {wrong(n).map((f) => (
                    <strong class="fault" key={f.message}>
                      {f.message}
                    </strong>
                  ))}
                </td>
                <td>{s.words.join(", ")}</td>
              </tr>
            ))}
          </tbody>
        </table>
      </div>
      <div class="buttons">
        <button type="button" class="main" onClick={use}>
          Take it over
        </button>
        <button type="button" class="quiet" onClick={close}>
          Leave it
        </button>
      </div>
    </Dialog>
  );
}
