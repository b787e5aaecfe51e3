import { createContext } from "preact";
import { useContext } from "preact/hooks";
import type { Session } from "../api/records";

// In order of what they may do.
const RANK = ["viewer", "lead", "engineer", "admin"];

/** A service that knows no sessions shows everything and takes no answers here. */
export const READ_ONLY: Session = { name: null, role: "viewer", open: true };

export const SessionContext = createContext<Session>(READ_ONLY);

/** Who is at work here. */
export const useSession = (): Session => useContext(SessionContext);

/** Whether a role suffices; an unknown role suffices for nothing. */
export function may(session: Session, role: "viewer" | "lead" | "engineer" | "admin"): boolean {
  return RANK.indexOf(session.role ?? "") >= RANK.indexOf(role);
}
