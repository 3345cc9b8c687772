import { expect, it } from "vitest";
import { namesSoftware } from "./software";

it("a processor that draws in a card's stead is known by its names", () => {
  for (const name of [
    "ANGLE (Google, Vulkan 1.3.0 (SwiftShader Device (Subzero)), SwiftShader driver)",
    "llvmpipe (LLVM 15.0.6, 256 bits)",
    "Microsoft Basic Render Driver",
  ]) {
    expect(namesSoftware(name)).toBe(true);
  }
  expect(namesSoftware("ANGLE (Intel, Mesa Intel(R) UHD Graphics 620, OpenGL 4.6)")).toBe(false);
});
