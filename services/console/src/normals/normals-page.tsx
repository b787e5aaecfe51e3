import type { Normal } from "../api/records";
import { decimals, range } from "../figures/number";
import { convert, measure } from "../figures/units";
import { Awaited, PageFrame } from "../parts/page";
import { useWholeList } from "../state/list";
import { link } from "../state/route";
import { useView } from "../state/view";
import { lineName, sentence } from "../words/alert";
import { productName } from "../words/line";
import { Scroll } from "../parts/scroll";

/** Every normal, oven by oven: which hold, which wait to be approved, and what they were learned from. */
export function NormalsPage() {
  const answer = useWholeList<Normal>("/normals");
  return (
    <PageFrame title="Normals">
      <Awaited answer={answer} missing="This service does not list its normals.">
        {(page) => {
          if (page.items.length === 0) return <p class="empty">Nothing is learned yet: <code>ovenward learn</code> learns normals from what is kept.</p>;
          const lines = [...new Set(page.items.map((normal) => normal.line))];
          return lines.map((line) => <LineNormals key={line} line={line} normals={page.items.filter((normal) => normal.line === line)} />);
        }}
      </Awaited>
    </PageFrame>
  );
}

function LineNormals({ line, normals }: { line: string; normals: Normal[] }) {
  const { status, model, units, clock } = useView();
  const { unit, places } = measure("band_speed_m_min", units);
  const speed = (value: number) => convert(value, "band_speed_m_min", units);
  return (
    <section class="panel">
      <h2>{lineName(status, line)}</h2>
      <Scroll>
        <table>
          <thead>
            <tr>
              <th scope="col">Normal</th><th scope="col">Product</th><th scope="col">Standing</th><th scope="col">Learned from</th>
              <th scope="col" class="figure">Baking, h</th><th scope="col" class="figure">Runs</th><th scope="col" class="figure">Rises</th><th scope="col" class="figure">Speeds, {unit}</th>
            </tr>
          </thead>
          <tbody>
            {normals.map((normal) => (
              <tr key={normal.id} class={normal.standing}>
                <th scope="row"><a href={link(["normals", normal.id])}>{normal.id}</a></th>
                <td>{productName(model, normal.product)}</td>
                <td>{sentence(normal.standing)}{normal.by && <span class="quiet"> by {normal.by}</span>}</td>
                <td class="nowrap">{clock.date(normal.learned_from)} to {clock.date(normal.learned_to)}</td>
                <td class="figure">{decimals(normal.hours, 1)}</td>
                <td class="figure">{normal.runs}</td>
                <td class="figure">{normal.rises_learned_from}</td>
                <td class="figure">{range(speed(normal.slowest_m_min), speed(normal.fastest_m_min), places)}</td>
              </tr>
            ))}
          </tbody>
        </table>
      </Scroll>
    </section>
  );
}
