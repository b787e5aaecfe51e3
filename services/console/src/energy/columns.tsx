import { useState } from "preact/hooks";
import { Awaited } from "../parts/page";
import { Scroll } from "../parts/scroll";
import { useAnswer } from "../state/answer";

interface ColumnMeaning {
  name: string;
  unit: string | null;
  meaning: string;
}

/** What every column of the saved file means: asked for once somebody wants to know. */
export function Columns() {
  const [open, setOpen] = useState(false);
  return (
    <details class="panel" open={open} onToggle={(event) => setOpen(event.currentTarget.open)}>
      <summary>What the columns of the file mean</summary>
      {open && <Meanings />}
    </details>
  );
}

function Meanings() {
  const answer = useAnswer<ColumnMeaning[]>("/energy/columns");
  return (
    <Awaited answer={answer} missing="This service does not tell.">
      {(columns) => (
        <Scroll>
          <table>
            <thead><tr><th scope="col">Column</th><th scope="col">Unit</th><th scope="col">Meaning</th></tr></thead>
            <tbody>{columns.map(({ name, unit, meaning }) => <tr key={name}><th scope="row"><code>{name}</code></th><td>{unit}</td><td>{meaning}</td></tr>)}</tbody>
          </table>
        </Scroll>
      )}
    </Awaited>
  );
}
