// What the page asks of the person: to pair, to send, to come to the laptop. One sentence each, with its button.

import { DAY, age } from "./clock.js";
import { items, waits } from "./listed.js";
import { button, part } from "./parts.js";
import { NOT_PAIRED, PAIR_AGAIN, PLAN_CHANGED, SILENT, TWICE, fault, old, otherSite } from "./words.js";

/** The act that is shown is not the first one any more; it stays under the thumb until the person asks for the other. */
export const planChanged = (see) => part("div", { className: "ask" }, part("p", {}, PLAN_CHANGED), button("Show the new act", see));

/** The notices that hold now, the gravest first. `does`: pair, send. */
export function asksOf({ rows, device, standing, right }, does) {
  const open = items(rows).filter(waits);
  const asks = [];
  const add = (says, word, act) => asks.push(part("div", { className: "ask" }, part("p", {}, says), word ? button(word, act) : null));
  if (standing.laptop === "fault") add(fault(standing.says), "Send now", does.send);
  if (rows.some((row) => row.state === "twice")) add(TWICE, "Pair anew", does.pair);
  else if (standing.laptop === "stranger" && device.token) add(`${standing.says}. ${PAIR_AGAIN}`, "Pair again", does.pair);
  else if (!device.token) add(NOT_PAIRED, "Pair", does.pair);
  const others = open.filter((item) => item.row.state === "phone" && item.row.site && item.row.site !== device.site);
  if (others.length) add(otherSite(others.length, others[0].row.site));
  const oldest = Math.max(0, ...open.map((item) => right - item.row.made));
  if (oldest > DAY) add(old(open.length, age(oldest)), "Send now", does.send);
  else if (standing.laptop === "silent") add(SILENT, open.length ? "Send now" : null, does.send);
  return asks;
}
