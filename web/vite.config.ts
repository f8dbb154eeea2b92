import { svelte } from "@sveltejs/vite-plugin-svelte";
import { defineConfig } from "vitest/config";

// In development the page is served here and everything under /api by `halfmicron serve`.
const server = process.env.HALFMICRON ?? "http://127.0.0.1:7272";

export default defineConfig({
  plugins: [svelte()],
  base: "./",
  server: { proxy: { "/api": { target: server, changeOrigin: true, headers: { origin: server } } } },
  build: {
    target: "es2023",
    modulePreload: { polyfill: false },
    assetsInlineLimit: 0,
    sourcemap: false,
    reportCompressedSize: false,
  },
  test: { include: ["src/**/*.test.ts"], environment: "node" },
});
