import { defineConfig } from "vite";
import { fixtureServer } from "./fixtures/server.ts";

// The program serves what is built under /console/; nothing is inlined, so that the page keeps a content policy
// without inline script or style.
export default defineConfig({
  base: "/console/",
  oxc: { jsx: { runtime: "automatic", importSource: "preact" } },
  build: {
    target: "es2022",
    assetsInlineLimit: 0,
    modulePreload: { polyfill: false },
    reportCompressedSize: false,
  },
  plugins: [fixtureServer()],
});
