import { useEffect, useState } from "preact/hooks";
import { listen } from "../api/live";
import type { Lines } from "../api/line";
import type { Alert, PlantStatus } from "../api/types";

/** The service tells its time at least this often; after that, what is shown is old. */
export const OLD_AFTER_MS = 40000;

/** What is known of the plant now. */
export interface Plant {
  status: PlantStatus | null;
  /** When it was heard, by the clock of this browser, ms. */
  heard: number | null;
  connected: boolean;
}

const NOTHING: Plant = { status: null, heard: null, connected: true };

/** The plant with a changed alert in it; the newest stands first. */
export function withAlert(status: PlantStatus, alert: Alert): PlantStatus {
  const others = status.alerts.filter((other) => other.id !== alert.id);
  const place = status.alerts.findIndex((other) => other.id === alert.id);
  return { ...status, alerts: place < 0 ? [alert, ...others] : others.toSpliced(place, 0, alert) };
}

/** The plant with what the config tells of it: lengths of zones, names of products, the time zone. */
export function withModel(status: PlantStatus, model: Lines | null): PlantStatus {
  if (model === null) return status;
  const lines = status.lines.map((line) => {
    const known = model.items.find((item) => item.id === line.id);
    const product = model.products.find((item) => item.code === line.product);
    const zones = line.zones.map((zone) => ({
      ...zone, length_m: zone.length_m ?? known?.zones.find((item) => item.zone === zone.zone)?.length_m,
    }));
    return { ...line, zones, product_name: line.product_name ?? product?.name };
  });
  return { ...status, lines, time_zone: status.time_zone ?? model.time_zone };
}

/** Whether what is shown is out of date at `now` (ms). */
export function isOld(plant: Plant, now: number): boolean {
  return plant.heard !== null && (!plant.connected || now - plant.heard > OLD_AFTER_MS);
}

/** The plant, live as long as the page is open. */
export function usePlant(): Plant {
  const [plant, setPlant] = useState(NOTHING);
  useEffect(() => listen({
    status: (status) => setPlant({ status, heard: Date.now(), connected: true }),
    alert: (alert) => setPlant((known) =>
      known.status === null ? known : { ...known, status: withAlert(known.status, alert) }),
    lost: () => setPlant((known) => ({ ...known, connected: false })),
  }), []);
  return plant;
}

/** The time of this browser, ms, told again every `every` ms. */
export function useNow(every: number): number {
  const [now, setNow] = useState(Date.now());
  useEffect(() => {
    const timer = setInterval(() => setNow(Date.now()), every);
    return () => clearInterval(timer);
  }, [every]);
  return now;
}
