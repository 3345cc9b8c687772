import { defineConfig } from "vitest/config";

export default defineConfig({
  test: { include: ["src/**/*.test.ts"], environment: "node", pool: "threads", maxWorkers: 1, css: true },
});
