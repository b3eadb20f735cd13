// At most one page of this phone sends at a time, however many are open. A turn is a kept note with a short life, so that a
// page that was closed in the middle holds nobody up for long. (Two at once would do no harm: the record knows ids.)

import { got, within } from "./database.js";
import { recallHere, rememberHere } from "./memory.js";

const LIFE = 5000; // ours, milliseconds
const RENEWED = 1500;

const drawn = Array.from(crypto.getRandomValues(new Uint8Array(8)), (b) => b.toString(16)).join("");
const me = recallHere("page", drawn); // a page loaded anew is still the same page
rememberHere("page", me);

const put = (left) =>
  within(["settings"], "readwrite", async ({ settings }) => {
    const turn = await got(settings.get("turn"));
    const held = turn && turn.by !== me && turn.until > Date.now() && turn.until <= Date.now() + LIFE;
    if (held) return false;
    await got(left ? settings.put({ by: me, until: Date.now() + left }, "turn") : settings.delete("turn"));
    return true;
  });

/** Do `work` when no other page is sending; gives false when one is. */
export async function inTurn(work) {
  if (!(await put(LIFE))) return false;
  const renewing = setInterval(() => put(LIFE).catch(() => {}), RENEWED);
  try {
    await work();
  } finally {
    clearInterval(renewing);
    await put(0).catch(() => {});
  }
  return true;
}
