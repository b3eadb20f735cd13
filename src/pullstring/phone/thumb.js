// The buttons next to the thumb, and the one beside the title.

import { ACTS, HEARD, ORDER, actOf } from "./acts.js";
import { begun } from "./drafts.js";
import { nextButtons } from "./next.js";
import { remember } from "./memory.js";
import { button, part } from "./parts.js";

/** The buttons of a sheet. `does`: act (name), tone (what was heard), next. `act`: the one shown; `walk`: acts still to do. */
export function buttonsOf(view, does, { act, walk }) {
  if (view === "next") return nextButtons(act, does);
  if (view === "list" || view === "instead") {
    const first = view === "list" && walk ? [button("Next act", () => does.next(), { className: "act wide", "data-act": "next" })] : [];
    const acts = ORDER.map((name) => {
      const word = ACTS[name].word;
      const has = { className: name === ORDER.at(-1) ? "act go wide" : "act", "data-act": name };
      return button(begun(name) ? `${word}, begun` : word, () => does.act(name), has);
    });
    return [...first, ...acts];
  }
  if (actOf(view) === "tone") return HEARD.map((heard) => button(heard, () => does.tone(heard), { className: "act heard" }));
  const word = view === "phone" ? "Pair" : (ACTS[actOf(view)]?.keep ?? "Keep");
  return [part("button", { type: "submit", className: "act go wide", form: "act" }, word)];
}

const REST = 400; // ours, milliseconds

/** The second half of a double tap on Keep does nothing: other acts stand there now. Then the act is at hand again. */
export function rest(acts, name) {
  acts.inert = true;
  setTimeout(() => {
    acts.inert = false;
    const idle = [document.body, document.getElementById("title")].includes(document.activeElement);
    if (idle) acts.querySelector(`[data-act="${name}"]`)?.focus({ preventScroll: true });
  }, REST);
}

const MOST = 0.62; // ours: of the page's height; more leaves no room for what is read

/** Hold the foot of the sheet next to the thumb, unless large letters or an open keyboard leave no room for the rest. */
export function holdThumb(foot) {
  const measure = () => {
    const held = foot.classList.toggle("held", foot.offsetHeight <= MOST * innerHeight);
    document.documentElement.style.scrollPaddingBottom = held ? `${foot.offsetHeight + 8}px` : ""; // what has the focus stays clear of it
  };
  new ResizeObserver(measure).observe(foot);
  addEventListener("resize", () => {
    measure();
    if (document.activeElement?.closest("#sheet")) document.activeElement.scrollIntoView({ block: "nearest" });
  });
  measure();
}

/** Day or night print by one button; what is chosen is remembered. */
export function turnPrint() {
  const next = document.documentElement.dataset.print === "night" ? "day" : "night";
  document.documentElement.dataset.print = next;
  remember("print", next);
}

/** The word of the button that turns the print. */
export const printWord = () => (document.documentElement.dataset.print === "night" ? "Day print" : "Night print");

