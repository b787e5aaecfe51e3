import type { Profile } from "../api/line";
import type { LineStatus } from "../api/types";
import { decimals } from "../figures/number";
import { HUMIDITY, measure, withUnit } from "../figures/units";
import { Ribbon } from "../ovens/ribbon";
import { ZoneFigures } from "../ovens/zone-figures";
import { Choice } from "../parts/choice";
import { Awaited } from "../parts/page";
import { useAnswer } from "../state/answer";
import { usePreferences } from "../state/preferences";
import { useView } from "../state/view";
import { calling, isUnanswered } from "../words/alert";
import { ProfilePicture } from "./profile-picture";
import { ProfileTable } from "./profile-table";

const EVERY_MS = 3000;

/** Humidity and air temperature by zone, against what the normal expects at this speed. */
export function ProfileSection({ line }: { line: LineStatus }) {
  const [preferences, change] = usePreferences();
  const answer = useAnswer<Profile>(`/lines/${encodeURIComponent(line.id)}/profile`, {}, EVERY_MS);
  const humidity = HUMIDITY[preferences.humidity];
  const calls = calling(useView().status.alerts).filter((alert) => alert.line === line.id && isUnanswered(alert));
  return (
    <section class="panel live-figures" aria-labelledby="profile-title">
      <div class="panel-head">
        <h2 id="profile-title">Profile now</h2>
        <Choice label="Humidity as" name="profile-humidity" value={preferences.humidity}
          options={[["moisture", "% vol"], ["dew-point", "Dew point"], ["humidity-ratio", measure("humidity_ratio", preferences.units).unit]]}
          onChange={(value) => change({ humidity: value })} />
      </div>
      <Awaited answer={answer} missing="This service does not tell profiles.">
        {(profile) => (
          <>
            <Against profile={profile} />
            <div class={`oven-ribbon ${calls[0]?.priority ?? ""}`}>
              <Ribbon zones={line.zones} calls={calls.length > 0} />
              <div class="travel" aria-hidden="true" />
              <ZoneFigures zones={line.zones} />
            </div>
            <div class="profiles">
              <ProfilePicture title={humidity.name} quantity={humidity.quantity} profile={profile} line={line} fromZero={humidity.quantity !== "dew_point_c"} />
              <ProfilePicture title="Air temperature" quantity="air_temperature_c" profile={profile} line={line} fromZero={false} />
            </div>
            <ProfileTable profile={profile} humidity={humidity} />
          </>
        )}
      </Awaited>
    </section>
  );
}

/** What the profile is held against, and how far that can be trusted. */
function Against({ profile }: { profile: Profile }) {
  const { units } = useView();
  const speed = withUnit(profile.band_speed_m_min, "band_speed_m_min", units);
  const bake = profile.bake_time_min ? `, ${decimals(profile.bake_time_min, 1)} min in the oven` : "";
  if (!profile.normal) return <p class="quiet">At {speed}{bake}. No normal holds for this product, so there is nothing to hold it against.</p>;
  const beyond = profile.extrapolates_pct;
  return (
    <p class="quiet">
      Against {profile.normal} at {speed}{bake}.{" "}
      {beyond !== null && beyond !== undefined && beyond !== 0 && (
        <strong>
          This speed lies {decimals(Math.abs(beyond), 0)} % outside of what was learned
          ({withUnit(profile.slowest_m_min, "band_speed_m_min", units)} to {withUnit(profile.fastest_m_min, "band_speed_m_min", units)}): the band is wider for it.
        </strong>
      )}
    </p>
  );
}
