import { svelte } from "@sveltejs/vite-plugin-svelte";
import type { Plugin } from "vite";
import { defineConfig } from "vitest/config";

/** Where the program listens while one works on the page: `spadework open JOB --port 4870 --no-browser`. */
const PROGRAM = "http://127.0.0.1:4870";

/** The token stands in the page that the program serves; the page that Vite serves takes it from there. */
const token: Plugin = {
  name: "token",
  apply: "serve",
  async transformIndexHtml(html) {
    const served = await (await fetch(PROGRAM)).text();
    const found = /name="token" content="(\w+)"/.exec(served)?.[1] ?? "";
    return html.replace('name="token" content=""', `name="token" content="${found}"`);
  },
};

export default defineConfig({
  plugins: [svelte(), token],
  base: "./",
  build: { target: "es2022", assetsInlineLimit: 0, modulePreload: { polyfill: false } },
  test: { include: ["tests/unit/**/*.test.ts"] },
  server: { proxy: { "/api": { target: PROGRAM, changeOrigin: true, headers: { origin: PROGRAM } } } },
});
