import { address } from "../api/client";
import { PERIODS, type EnergyAccount, type Period } from "../api/energy";
import { Awaited, PageFrame } from "../parts/page";
import { useAnswer } from "../state/answer";
import { replaceQuery, type Route } from "../state/route";
import { useView } from "../state/view";
import { BaselineSection } from "./baseline-section";
import { Columns } from "./columns";
import { Questions } from "./questions";
import { Records } from "./records";
import { RestsOn } from "./rests-on";
import { Together } from "./together";
import { Tracks } from "./tracks";
import { Wastes } from "./wastes";

const DAY_MS = 24 * 3600e3;
/** So many days are told unless somebody asks for others. */
const USUAL_DAYS = 7;

/** What an oven used, what it made of that and how wet, and whether that is less than before. */
export function EnergyPage({ route }: { route: Route }) {
  const { status, clock } = useView();
  const asked = (name: string) => route.query.get(name) ?? "";
  const line = asked("line") || (status.lines[0]?.id ?? "");
  const by: Period = PERIODS.find((period) => period === asked("by")) ?? "shift";
  const to = asked("to") || clock.isoDate(status.now);
  const from = asked("from") || clock.isoDate(Date.parse(status.now) - USUAL_DAYS * DAY_MS);
  const baseline = asked("baseline_from") !== "" && asked("baseline_to") !== "";
  const query = {
    by,
    from: clock.instant(from),
    // The last day counts whole.
    to: clock.instant(dayAfter(to)),
    baseline_from: baseline ? asked("baseline_from") : null,
    baseline_to: baseline ? asked("baseline_to") : null,
  };
  const path = `/energy/${encodeURIComponent(line)}`;
  const answer = useAnswer<EnergyAccount>(line === "" ? null : path, query);

  return (
    <PageFrame title="Energy"
      aside={(
        <p class="links">
          <span class="quiet" role="status">{answer.loading && "The figures are being worked out …"}</span>
          <a href={address(`${path}/csv`, query)} download>Save CSV</a>
        </p>
      )}>
      <Questions line={line} by={by} from={from} to={to} baselineFrom={asked("baseline_from")} baselineTo={asked("baseline_to")}
        change={(change) => replaceQuery(route, change)} />
      <Awaited answer={answer} missing="Nothing was measured on this oven in this period.">
        {(account) => (
          <>
            <Together account={account} />
            {account.by !== "product" && account.records.length > 1 && <Tracks account={account} />}
            <BaselineSection account={account} />
            <Wastes account={account} />
            <RestsOn account={account} />
            <Records account={account} />
          </>
        )}
      </Awaited>
      <Columns />
    </PageFrame>
  );
}

function dayAfter(date: string): string {
  const day = Date.parse(`${date}T00:00:00Z`);
  return Number.isNaN(day) ? "" : new Date(day + DAY_MS).toISOString().slice(0, 10);
}
