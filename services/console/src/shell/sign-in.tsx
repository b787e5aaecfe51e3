import { useEffect, useState } from "preact/hooks";
import { ApiProblem, send } from "../api/client";

/** Who is there? The service keeps the session in a cookie that no script can read. */
export function SignIn() {
  const [name, setName] = useState("");
  const [password, setPassword] = useState("");
  const [said, setSaid] = useState("");
  const [busy, setBusy] = useState(false);
  useEffect(() => {
    document.title = "Sign in · ovenward";
  }, []);

  const enter = async (event: Event) => {
    event.preventDefault();
    setBusy(true);
    setSaid("");
    try {
      await send("POST", "/session", { name: name.trim(), password });
      location.reload();
    } catch (error) {
      setSaid(error instanceof ApiProblem ? error.message : String(error));
      setPassword("");
      setBusy(false);
    }
  };

  return (
    <main class="sign-in">
      <h1>Sign in</h1>
      <form class="panel" onSubmit={enter}>
        <label class="field"><span>Name</span>
          <input type="text" value={name} autocomplete="username" required onInput={(event) => setName(event.currentTarget.value)} />
        </label>
        <label class="field"><span>Password</span>
          <input type="password" value={password} autocomplete="current-password" required onInput={(event) => setPassword(event.currentTarget.value)} />
        </label>
        <button type="submit" class="main" disabled={busy}>Sign in</button>
        <p class={said === "" ? "said" : "notice"} role="alert">{said}</p>
      </form>
      <p class="quiet">Names and passwords are made by <code>ovenward user add</code>.</p>
    </main>
  );
}
