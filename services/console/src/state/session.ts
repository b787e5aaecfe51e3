import { createContext } from "preact";
import { useContext } from "preact/hooks";
import type { Session } from "../api/records";

// In order of what they may do.
const RANK = ["viewer", "lead", "engineer", "admin"];

/** Nobody signs in: whoever sits at this machine may do everything, and says who they are. */
export const OPEN: Session = { name: null, role: "engineer", open: true };

export const SessionContext = createContext<Session>(OPEN);

/** Who is at work here. */
export const useSession = (): Session => useContext(SessionContext);

/** Whether a role suffices; an unknown role suffices for nothing. */
export function may(session: Session, role: "viewer" | "lead" | "engineer" | "admin"): boolean {
  return RANK.indexOf(session.role ?? "") >= RANK.indexOf(role);
}
