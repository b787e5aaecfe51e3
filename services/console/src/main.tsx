import { render } from "preact";
import { App } from "./app";
import { PreferencesProvider } from "./state/preferences";

const root = document.getElementById("console");
if (root !== null) {
  render(<PreferencesProvider><App /></PreferencesProvider>, root);
}
