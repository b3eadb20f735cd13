// When what waits is sent: after each Keep, when the network or the page comes back, by the button, and by a timer that asks
// ever more seldom while the laptop does not answer. Place for full offline: a worker would call `sendNow` too.

import { adopt, follow, keepPairing, prune } from "./adopt.js";
import { difference, now } from "./clock.js";
import { got, within } from "./database.js";
import { NotAllowed, NotArrived, NotTaken, bring, known, pair, send, walk } from "./laptop.js";
import { batch, deviceOf, rows, seen, settle, tried } from "./outbox.js";
import { inTurn } from "./turns.js";
import { keepWalk } from "./walk.js";

const FIRST = 1000; // milliseconds
const LONGEST = 30000; // ours: the longest wait between two tries
const TOO_LARGE = 12_000_000; // bytes; more the laptop does not take

/** How sending stands: `laptop` is unknown, here, silent, stranger (it does not know this phone) or fault, with its sentence. */
export const standing = { laptop: "unknown", says: "", sending: false };
let changed = () => {};
let wait = FIRST;
let timer = 0;
let running = null;
let again = false;

/** Call `tell` whenever rows or the standing changed. */
export const onChange = (tell) => {
  changed = tell;
};

/** Send all that waits; a call while one is under way makes it look once more. */
export function sendNow() {
  again = true;
  running ??= (async () => {
    while (again) {
      again = false;
      await sendAll();
    }
    running = null;
  })();
  return running;
}

async function sendAll() {
  clearTimeout(timer);
  standing.sending = true;
  let over = true;
  try {
    over = await inTurn(round);
    if (over) Object.assign(standing, { laptop: "here", says: "" });
    if (over) renew();
    wait = FIRST;
  } catch (error) {
    const laptop = error instanceof NotAllowed ? "stranger" : error instanceof NotArrived ? "silent" : "fault";
    Object.assign(standing, { laptop, says: laptop === "silent" ? "" : error.message });
    over = false;
  }
  standing.sending = false;
  const waiting = (await rows().catch(() => [])).some((row) => row.state === "phone");
  if (waiting || !over) later();
  changed();
}

function later() {
  clearTimeout(timer);
  timer = setTimeout(sendNow, wait);
  wait = Math.min(2 * wait, LONGEST);
}

/** One round: hear how things stand, then send until nothing more can go. */
async function round() {
  const device = await contact();
  for (let next = await batch(device.site); next.length; next = await batch(device.site)) {
    for (const row of next) await photographOf(row, device.token);
    const going = (await batch(device.site)).slice(0, next.length); // one whose photograph was refused is gone from it
    if (going.length) await sendRows(going, device.token);
    changed();
  }
}

let renewing = false;
let stale = false;

/** The acts of the walk anew, now that the laptop has all that was written. Nothing waits for it; without them the old ones hold. */
async function renew() {
  stale = true;
  if (renewing) return;
  renewing = true;
  while (stale) {
    stale = false;
    try {
      const { token } = await within(["settings"], "readonly", ({ settings }) => deviceOf(settings));
      await keepWalk(await walk(token));
    } catch {
      // the next round asks again
    }
  }
  renewing = false;
  changed();
}

/** Ask the laptop how things stand, and go over to a new pairing where one was given. */
async function contact() {
  const { device, pairing } = await within(["settings"], "readonly", async ({ settings }) => ({
    device: await deviceOf(settings),
    pairing: await got(settings.get("pairing")),
  }));
  const token = pairing?.token ?? device.token;
  if (!token) throw new NotAllowed("");
  const sent = Date.now();
  const said = await known(token);
  const ahead = difference(said.now, sent, Date.now());
  await within(["settings"], "readwrite", async ({ settings }) => {
    await got(settings.put(said, "known"));
    if (ahead !== null) await got(settings.put({ difference: ahead }, "clock"));
    await seen(settings, said.tick);
  });
  if (pairing) await adopt(said);
  await prune(now({ difference: ahead ?? 0 }).right);
  return follow(said);
}

/** The bytes of a photograph go before its entry. */
async function photographOf(row, token) {
  const sha256 = row.entry.body.fields?.sha256;
  const photo = sha256 && (await within(["photos"], "readonly", (s) => got(s.photos.get(sha256))));
  if (!photo || photo.sent) return;
  try {
    if (photo.blob.size > TOO_LARGE) throw new NotTaken("the photograph is larger than 12 MB; take it again with fewer dots");
    await bring(photo, token);
    await within(["photos"], "readwrite", (s) => got(s.photos.put({ ...photo, sent: true })));
  } catch (error) {
    if (!(error instanceof NotTaken)) throw error;
    await settle({ stored: [], refused: { [row.id]: error.message }, taken: new Set(), tick: 0 });
  }
}

/** Send rows; when the laptop takes the whole lot for unreadable, one by one, so that one holds up no other. */
async function sendRows(going, token) {
  const ids = going.map((row) => row.id);
  await tried(ids);
  try {
    const answer = await send(going.map((row) => row.entry), token);
    await settle(answer);
    if (![...answer.stored, ...Object.keys(answer.refused)].length) throw new NotArrived("nothing was acknowledged");
  } catch (error) {
    if (!(error instanceof NotTaken)) throw error;
    if (going.length === 1) await settle({ stored: [], refused: { [ids[0]]: error.message }, taken: new Set(), tick: 0 });
    else for (const row of going) await sendRows([row], token);
  }
}

/** Pair with the code of the laptop; raises NotAllowed with its sentence, or NotArrived. */
export async function pairWith(code, author) {
  await keepPairing(await pair(code, author || "phone"), author);
  wait = FIRST;
  await sendNow();
}

/** Send again from now on at short waits: the laptop may be back. */
export function awake() {
  wait = FIRST;
  return sendNow();
}

