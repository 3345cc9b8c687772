import { render } from "preact";
import "./look/tokens.css";
import "./look/base.css";
import "./look/shell.css";
import "./look/page.css";
import { Shell } from "./shell/shell";

const place = document.getElementById("bench");
if (place) render(<Shell />, place);
