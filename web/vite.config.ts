import { defineConfig } from "vite";

/** The server that answers while the page is being worked on. */
const SERVER = "http://127.0.0.1:8017";

export default defineConfig({
  build: {
    outDir: "../src/chape/bench/static",
    emptyOutDir: true,
    // The page's policy allows no inline script or data: font; every asset is a file.
    assetsInlineLimit: 0,
    modulePreload: { polyfill: false },
    chunkSizeWarningLimit: 700,
  },
  server: {
    port: 8018,
    strictPort: true,
    proxy: {
      "/api": {
        target: SERVER,
        ws: true,
        // The server asks that Origin and Host agree.
        changeOrigin: true,
        headers: { origin: SERVER },
      },
    },
  },
});
