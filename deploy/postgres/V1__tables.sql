-- What ovenward writes into PostgreSQL (13 or newer): shift tables, alerts, energy and rate changes.
--
-- The service makes these tables itself when it first connects, in the schema "ovenward", and notes in
-- ovenward.migration what it has made. A file that was released is never edited: a later one is added.
-- Several plants may share one database: the site stands in every key. Times are moments; the shifts' local
-- dates are those of the plant. What is not known is null. Nothing here is ever read back to run a plant.

CREATE TABLE ovenward.shift (
    site                    text NOT NULL,
    line                    text NOT NULL,
    date                    date NOT NULL,
    shift                   text NOT NULL,
    product                 text NOT NULL,
    zone                    integer NOT NULL,
    starts                  timestamptz NOT NULL,
    ends                    timestamptz NOT NULL,
    running_min             double precision NOT NULL,
    readings                bigint NOT NULL,
    coverage_pct            double precision NOT NULL,
    moisture_pct_mean       double precision,
    moisture_pct_p05        double precision,
    moisture_pct_p50        double precision,
    moisture_pct_p95        double precision,
    dew_point_c_mean        double precision,
    humidity_ratio_mean     double precision,
    air_temperature_c_mean  double precision,
    air_temperature_c_p05   double precision,
    air_temperature_c_p95   double precision,
    exhaust_damper_pct_mean double precision,
    band_speed_m_min_mean   double precision,
    band_speed_m_min_max    double precision,
    bake_time_min_mean      double precision,
    peak_zone               integer,
    drop_1_to_2_pct         double precision,
    zone3_to_peak_pct       double precision,
    normal_id               text,
    departure               double precision,
    alerts                  integer NOT NULL,
    PRIMARY KEY (site, line, starts, product, zone)
);
CREATE INDEX shift_by_time ON ovenward.shift (starts);

COMMENT ON TABLE ovenward.shift IS 'Shift profile: one row for each zone while one product was baked in one shift of one line; the rows of "ovenward shifts"';
COMMENT ON COLUMN ovenward.shift.site IS 'The site''s id';
COMMENT ON COLUMN ovenward.shift.line IS 'The line''s id';
COMMENT ON COLUMN ovenward.shift.date IS 'Local date on which the shift began';
COMMENT ON COLUMN ovenward.shift.shift IS 'The shift''s name';
COMMENT ON COLUMN ovenward.shift.product IS 'Code of the product that was baked';
COMMENT ON COLUMN ovenward.shift.zone IS 'The zone, counted from 1 in the direction of travel';
COMMENT ON COLUMN ovenward.shift.starts IS 'First moment of the shift';
COMMENT ON COLUMN ovenward.shift.ends IS 'First moment of the next shift';
COMMENT ON COLUMN ovenward.shift.running_min IS 'min: how long the product was baked in this shift';
COMMENT ON COLUMN ovenward.shift.readings IS 'How many readings of the zone were used';
COMMENT ON COLUMN ovenward.shift.coverage_pct IS '%: share of that time in which the zone has a usable reading; time of which nothing is known is uncovered';
COMMENT ON COLUMN ovenward.shift.moisture_pct_mean IS '% vol: mean moisture by volume';
COMMENT ON COLUMN ovenward.shift.moisture_pct_p05 IS '% vol: 5 % of the readings lie below it';
COMMENT ON COLUMN ovenward.shift.moisture_pct_p50 IS '% vol: median moisture';
COMMENT ON COLUMN ovenward.shift.moisture_pct_p95 IS '% vol: 95 % of the readings lie below it';
COMMENT ON COLUMN ovenward.shift.dew_point_c_mean IS 'degC: mean of the dew points';
COMMENT ON COLUMN ovenward.shift.humidity_ratio_mean IS 'kg/kg: mean humidity ratio, water per dry air';
COMMENT ON COLUMN ovenward.shift.air_temperature_c_mean IS 'degC: mean air temperature';
COMMENT ON COLUMN ovenward.shift.air_temperature_c_p05 IS 'degC: 5 % of the readings lie below it';
COMMENT ON COLUMN ovenward.shift.air_temperature_c_p95 IS 'degC: 95 % of the readings lie below it';
COMMENT ON COLUMN ovenward.shift.exhaust_damper_pct_mean IS '%: mean opening of the exhaust damper';
COMMENT ON COLUMN ovenward.shift.band_speed_m_min_mean IS 'm/min: mean band speed';
COMMENT ON COLUMN ovenward.shift.band_speed_m_min_max IS 'm/min: highest band speed';
COMMENT ON COLUMN ovenward.shift.bake_time_min_mean IS 'min: mean bake time, length of the oven over band speed';
COMMENT ON COLUMN ovenward.shift.peak_zone IS 'The zone with the highest mean moisture';
COMMENT ON COLUMN ovenward.shift.drop_1_to_2_pct IS '%: fall of mean moisture from zone 1 to zone 2, of zone 1; negative if it rises';
COMMENT ON COLUMN ovenward.shift.zone3_to_peak_pct IS '%: mean moisture of zone 3, of that of the peak zone';
COMMENT ON COLUMN ovenward.shift.normal_id IS 'The approved normal with which the shift was compared when it was written';
COMMENT ON COLUMN ovenward.shift.departure IS 'How far it departed from that normal, by the normal''s own measure: median of its windows';
COMMENT ON COLUMN ovenward.shift.alerts IS 'Alerts raised on the line in the shift';

CREATE TABLE ovenward.energy (
    site                 text NOT NULL,
    line                 text NOT NULL,
    period               text NOT NULL,
    products             text NOT NULL,
    starts               timestamptz NOT NULL,
    ends                 timestamptz NOT NULL,
    baking_h             double precision NOT NULL,
    idle_h               double precision NOT NULL,
    dough_kg             double precision,
    good_kg              double precision,
    good_mass            text,
    evaporated_kg        double precision,
    gas_m3               double precision,
    gas_kwh_gross        double precision,
    gas_kwh_net          double precision,
    electricity_kwh      double precision,
    steam_kg             double precision,
    steam_kwh            double precision,
    energy_kwh           double precision,
    idle_kwh             double precision,
    kwh_per_t            double precision,
    peak_zone            integer,
    peak_moisture_pct    double precision,
    zone3_moisture_pct   double precision,
    band_speed_m_min     double precision,
    ambient_c            double precision,
    currency             text,
    cost                 double precision,
    co2_kg               double precision,
    over_steaming_kg     double precision,
    over_steaming_kwh    double precision,
    over_steaming_cost   double precision,
    excess_moisture_kg   double precision,
    excess_moisture_zone integer,
    excess_moisture_kwh  double precision,
    excess_moisture_cost double precision,
    coverage_pct         double precision NOT NULL,
    expected_kwh         double precision,
    saving_kwh           double precision,
    PRIMARY KEY (site, line, starts)
);
CREATE INDEX energy_by_time ON ovenward.energy (starts);

COMMENT ON TABLE ovenward.energy IS 'Energy record of one shift of one line; the rows of "ovenward energy --by shift". Its cumulative sum of savings depends on where one begins: sum(saving_kwh) OVER (PARTITION BY site, line ORDER BY starts)';
COMMENT ON COLUMN ovenward.energy.site IS 'The site''s id';
COMMENT ON COLUMN ovenward.energy.line IS 'The line''s id';
COMMENT ON COLUMN ovenward.energy.period IS 'Local date on which the shift began, and its name';
COMMENT ON COLUMN ovenward.energy.products IS 'Codes of the products that were in the oven, with + between them';
COMMENT ON COLUMN ovenward.energy.starts IS 'First moment of the shift';
COMMENT ON COLUMN ovenward.energy.ends IS 'First moment of the next shift';
COMMENT ON COLUMN ovenward.energy.baking_h IS 'h: time with the oven full of one product';
COMMENT ON COLUMN ovenward.energy.idle_h IS 'h: time in which no dough entered: gaps, changeovers, heating, standstill';
COMMENT ON COLUMN ovenward.energy.dough_kg IS 'kg: dough that entered, band speed times dough_kg_per_m';
COMMENT ON COLUMN ovenward.energy.good_kg IS 'kg: good product';
COMMENT ON COLUMN ovenward.energy.good_mass IS 'Where good_kg comes from: counted (signal good_mass) or baked (dough less bake loss: rejects count as good)';
COMMENT ON COLUMN ovenward.energy.evaporated_kg IS 'kg: water that the dough lost in the oven, by bake_loss_pct';
COMMENT ON COLUMN ovenward.energy.gas_m3 IS 'm3: gas of the oven at the conditions of its meter';
COMMENT ON COLUMN ovenward.energy.gas_kwh_gross IS 'kWh: the same on the gross (higher) calorific value';
COMMENT ON COLUMN ovenward.energy.gas_kwh_net IS 'kWh: the same on the net (lower) calorific value';
COMMENT ON COLUMN ovenward.energy.electricity_kwh IS 'kWh: electricity, where the line has the signal electric_power';
COMMENT ON COLUMN ovenward.energy.steam_kg IS 'kg: steam injected';
COMMENT ON COLUMN ovenward.energy.steam_kwh IS 'kWh: fuel of the boiler for that steam, gross';
COMMENT ON COLUMN ovenward.energy.energy_kwh IS 'kWh: gas_kwh_gross + electricity_kwh + steam_kwh, of what is metered';
COMMENT ON COLUMN ovenward.energy.idle_kwh IS 'kWh: the part of energy_kwh while no dough entered';
COMMENT ON COLUMN ovenward.energy.kwh_per_t IS 'kWh/t: energy performance indicator (EnPI of ISO 50006), energy_kwh per tonne of good product; read it beside zone3_moisture_pct';
COMMENT ON COLUMN ovenward.energy.peak_zone IS 'The wettest zone while baking, counted from 1';
COMMENT ON COLUMN ovenward.energy.peak_moisture_pct IS '% vol: its mean moisture';
COMMENT ON COLUMN ovenward.energy.zone3_moisture_pct IS '% vol: mean moisture of zone 3 while baking; of the last zone in an oven with fewer';
COMMENT ON COLUMN ovenward.energy.band_speed_m_min IS 'm/min: mean band speed while baking';
COMMENT ON COLUMN ovenward.energy.ambient_c IS 'degC: mean temperature of the air outside the oven';
COMMENT ON COLUMN ovenward.energy.currency IS 'ISO 4217 code of the costs';
COMMENT ON COLUMN ovenward.energy.cost IS 'currency: cost of gas, electricity and steam (as gas)';
COMMENT ON COLUMN ovenward.energy.co2_kg IS 'kg: carbon dioxide by the factors of the plant''s config';
COMMENT ON COLUMN ovenward.energy.over_steaming_kg IS 'kg: steam that product was under for longer than it has use of, and all steam without product';
COMMENT ON COLUMN ovenward.energy.over_steaming_kwh IS 'kWh: its fuel in the boiler and the heat of the oven that carries it out again; an estimate';
COMMENT ON COLUMN ovenward.energy.over_steaming_cost IS 'currency: the same at the price of gas';
COMMENT ON COLUMN ovenward.energy.excess_moisture_kg IS 'kg: water that left zone 3 and later above the approved normal at the same band speed';
COMMENT ON COLUMN ovenward.energy.excess_moisture_zone IS 'The zone whose exhaust carried the most of it, counted from 1';
COMMENT ON COLUMN ovenward.energy.excess_moisture_kwh IS 'kWh: the heat of its vapour';
COMMENT ON COLUMN ovenward.energy.excess_moisture_cost IS 'currency: the same at the price of gas';
COMMENT ON COLUMN ovenward.energy.coverage_pct IS '%: lowest share of the time for which a meter or the production is known; nothing is filled in';
COMMENT ON COLUMN ovenward.energy.expected_kwh IS 'kWh: what the energy baseline (EnB of ISO 50006) expects at the same relevant variables, once its period is over';
COMMENT ON COLUMN ovenward.energy.saving_kwh IS 'kWh: normalised saving, expected_kwh less energy_kwh; positive is less than before';

CREATE TABLE ovenward.alert (
    site       text NOT NULL,
    id         text NOT NULL,
    line       text NOT NULL,
    kind       text NOT NULL,
    finding    text NOT NULL,
    priority   text NOT NULL,
    state      text NOT NULL,
    product    text,
    began      timestamptz NOT NULL,
    raised     timestamptz NOT NULL,
    ended      timestamptz,
    confidence double precision,
    normal     text,
    message    text NOT NULL,
    document   jsonb NOT NULL,
    PRIMARY KEY (site, id)
);
CREATE INDEX alert_by_time ON ovenward.alert (raised);
CREATE INDEX alert_standing ON ovenward.alert (site, line) WHERE ended IS NULL;

COMMENT ON TABLE ovenward.alert IS 'Every alert as it stands now';
COMMENT ON COLUMN ovenward.alert.site IS 'The site''s id';
COMMENT ON COLUMN ovenward.alert.id IS 'ULID of the alert';
COMMENT ON COLUMN ovenward.alert.line IS 'The line''s id';
COMMENT ON COLUMN ovenward.alert.kind IS 'What kind of event: unmatched-speed-rise, departs-from-normal, over-steaming, zone3-limit, sensor-fault';
COMMENT ON COLUMN ovenward.alert.finding IS 'What is wrong';
COMMENT ON COLUMN ovenward.alert.priority IS 'How soon a person should look: high or medium';
COMMENT ON COLUMN ovenward.alert.state IS 'Where it stands: states of ISA-18.2';
COMMENT ON COLUMN ovenward.alert.product IS 'Code of the product in the oven';
COMMENT ON COLUMN ovenward.alert.began IS 'When the cause began';
COMMENT ON COLUMN ovenward.alert.raised IS 'When the evidence sufficed';
COMMENT ON COLUMN ovenward.alert.ended IS 'When the evidence was gone; null while it stands';
COMMENT ON COLUMN ovenward.alert.confidence IS '1 less the chance of such evidence without a cause; null for a limit';
COMMENT ON COLUMN ovenward.alert.normal IS 'The normal it was held against';
COMMENT ON COLUMN ovenward.alert.message IS 'What happened, in one sentence';
COMMENT ON COLUMN ovenward.alert.document IS 'The whole alert as it goes out on MQTT: zones with their figures, advice, answers';

CREATE TABLE ovenward.alert_change (
    site   text NOT NULL,
    alert  text NOT NULL,
    number integer NOT NULL,
    time   timestamptz NOT NULL,
    who    text NOT NULL,
    what   text NOT NULL,
    state  text NOT NULL,
    PRIMARY KEY (site, alert, number),
    FOREIGN KEY (site, alert) REFERENCES ovenward.alert (site, id)
);
CREATE INDEX alert_change_by_time ON ovenward.alert_change (time);

COMMENT ON TABLE ovenward.alert_change IS 'What was done about each alert, and by whom';
COMMENT ON COLUMN ovenward.alert_change.site IS 'The site''s id';
COMMENT ON COLUMN ovenward.alert_change.alert IS 'The alert''s id';
COMMENT ON COLUMN ovenward.alert_change.number IS 'The first change of an alert is 1';
COMMENT ON COLUMN ovenward.alert_change.time IS 'When';
COMMENT ON COLUMN ovenward.alert_change.who IS 'Who did it: a person, or the service itself';
COMMENT ON COLUMN ovenward.alert_change.what IS 'What was done, with the reason where one was given';
COMMENT ON COLUMN ovenward.alert_change.state IS 'The alert''s state from then on';

CREATE TABLE ovenward.rate_change (
    site                 text NOT NULL,
    id                   text NOT NULL,
    line                 text NOT NULL,
    product              text NOT NULL,
    state                text NOT NULL,
    from_m_min           double precision NOT NULL,
    to_m_min             double precision NOT NULL,
    remedy               text,
    reason               text NOT NULL,
    balance              text NOT NULL,
    carryover_chance_pct double precision NOT NULL,
    proposed_by          text NOT NULL,
    proposed_at          timestamptz NOT NULL,
    made_by              text,
    made_at              timestamptz,
    looked_at            timestamptz,
    document             jsonb NOT NULL,
    PRIMARY KEY (site, id)
);
CREATE INDEX rate_change_by_time ON ovenward.rate_change (proposed_at);

COMMENT ON TABLE ovenward.rate_change IS 'Rate changes: proposed, agreed, made, and what came of them';
COMMENT ON COLUMN ovenward.rate_change.site IS 'The site''s id';
COMMENT ON COLUMN ovenward.rate_change.id IS 'Such as tunnel-1/rate/3';
COMMENT ON COLUMN ovenward.rate_change.line IS 'The line''s id';
COMMENT ON COLUMN ovenward.rate_change.product IS 'The product''s code';
COMMENT ON COLUMN ovenward.rate_change.state IS 'How far it has come: proposed, agreed, made, looked at';
COMMENT ON COLUMN ovenward.rate_change.from_m_min IS 'm/min: usual speed when it was proposed';
COMMENT ON COLUMN ovenward.rate_change.to_m_min IS 'm/min: speed proposed';
COMMENT ON COLUMN ovenward.rate_change.remedy IS 'With which remedy; null if nothing but the band is to be touched';
COMMENT ON COLUMN ovenward.rate_change.reason IS 'What for';
COMMENT ON COLUMN ovenward.rate_change.balance IS 'The water balance that was asked';
COMMENT ON COLUMN ovenward.rate_change.carryover_chance_pct IS '%: the chance of carryover that it foretold';
COMMENT ON COLUMN ovenward.rate_change.proposed_by IS 'Who proposed it';
COMMENT ON COLUMN ovenward.rate_change.proposed_at IS 'When';
COMMENT ON COLUMN ovenward.rate_change.made_by IS 'Who made it';
COMMENT ON COLUMN ovenward.rate_change.made_at IS 'When';
COMMENT ON COLUMN ovenward.rate_change.looked_at IS 'When it was looked at what came of it';
COMMENT ON COLUMN ovenward.rate_change.document IS 'The whole record: agreements, what was foretold zone by zone, and what came';

CREATE TABLE ovenward.position (
    site   text NOT NULL,
    what   text NOT NULL,
    line   text NOT NULL,
    until  timestamptz NOT NULL,
    change bigint,
    alert  text,
    PRIMARY KEY (site, what, line)
);

COMMENT ON TABLE ovenward.position IS 'How far the service has come: written in the same transaction as the rows. Deleting a row makes the service write all of that again';
COMMENT ON COLUMN ovenward.position.site IS 'The site''s id';
COMMENT ON COLUMN ovenward.position.what IS 'shift, energy or alert: the table';
COMMENT ON COLUMN ovenward.position.line IS 'The line''s id; empty for alerts';
COMMENT ON COLUMN ovenward.position.until IS 'Every shift that ended by then is here; for alerts, the time of the last change';
COMMENT ON COLUMN ovenward.position.change IS 'For alerts: the number of the last change in the service''s own journal';
COMMENT ON COLUMN ovenward.position.alert IS 'For alerts: which alert changed then; by it the service notices that its journal is another one';
