/** Whether pictures are drawn by a graphics card, or by the processor in its stead. */

/** Names that browsers and drivers give to drawing without a card. */
const NAMES = /swiftshader|llvmpipe|softpipe|software|basic render/i;

export function namesSoftware(renderer: string): boolean {
  return NAMES.test(renderer);
}

let known: boolean | null = null;

/** Asked once, of a canvas that nobody sees. */
export function drawsBySoftware(): boolean {
  known ??= asked();
  return known;
}

function asked(): boolean {
  const card = document.createElement("canvas").getContext("webgl2");
  if (card === null) return false;
  const told = card.getExtension("WEBGL_debug_renderer_info");
  const name: unknown = card.getParameter(told?.UNMASKED_RENDERER_WEBGL ?? card.RENDERER);
  card.getExtension("WEBGL_lose_context")?.loseContext();
  return namesSoftware(String(name));
}
