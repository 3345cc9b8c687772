/** Everything here that needs three.js, in one parcel, fetched when the first thing is to be shown. */

export { CutterShape } from "./cutter_shape";
export { Pin } from "./pin";
export { Rule } from "./rule";
export { Stand } from "./stand";
export { Surface } from "./surface";
export { Way } from "./way";
