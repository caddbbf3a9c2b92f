import { svelte } from "@sveltejs/vite-plugin-svelte";
import { defineConfig } from "vite";

export default defineConfig({
  plugins: [svelte()],
  base: "./",
  build: { target: "es2022", assetsInlineLimit: 0, modulePreload: { polyfill: false } },
  // While working on the page: `spadework open JOB --port 4870` beside `npm run dev`.
  server: { proxy: { "/api": "http://127.0.0.1:4870" } },
});
