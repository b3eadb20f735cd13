// What waits on this phone. A row holds one entry as it will be sent and its state:
//   phone    waits          record  acknowledged by the laptop      refused  can never be stored as it is
//   twice    another phone has used its count; waits to be written under a new pairing      left  let be by the person
// Place for the hand-over by codes: rows in the states `phone` and `twice` are what it carries, and `settle` takes its answer.

import { dated, now } from "./clock.js";
import { got, within } from "./database.js";
import { jotting, photograph, struckOut } from "./entry.js";

const AT_ONCE = 50; // ours: entries in one sending
export const OPEN = ["phone", "twice", "refused"];

/** The pairing of this phone; until there is one, entries are kept all the same and written anew when it comes. */
export async function deviceOf(settings) {
  const kept = await got(settings.get("device"));
  if (kept) return kept;
  const secret = Array.from(crypto.getRandomValues(new Uint8Array(16)), (b) => b.toString(16).padStart(2, "0")).join("");
  return { device: "", short: "", secret, token: "", author: "", site: "", n: 0, tick: 0 };
}

const rowOf = (entry, device, made, leans = "") => ({
  id: entry.id, n: entry.n, state: "phone", site: device.site, made, leans, tried: false, moved: false, says: "", entry,
}); // prettier-ignore

/** Count, date and keep the entries that `make` gives, all in one go; gives the rows. */
async function write(make) {
  return within(["entries", "photos", "settings"], "readwrite", async (stores) => {
    const device = await deviceOf(stores.settings);
    const { wrote, right } = now(await got(stores.settings.get("clock")));
    const time = { wrote: dated(wrote), at: dated(right) };
    const rows = await make(device, time, right, stores);
    for (const row of rows) row.key = await got(stores.entries.add(row));
    await got(stores.settings.put(device, "device"));
    return rows;
  });
}

/** Keep a jotting with its photographs. Raises QuotaExceededError when the phone has no room. */
export const keep = (fields, photos = []) =>
  write(async (device, time, made, stores) => {
    const rows = [rowOf(jotting(device, time, fields), device, made)];
    const [{ entry }] = rows;
    for (const [i, photo] of photos.entries()) {
      rows.push(rowOf(photograph(device, time, entry.body.subject, i, photo), device, made, entry.id));
      await got(stores.photos.put({ sha256: photo.sha256, type: photo.type, blob: photo.blob, sent: false }));
    }
    return rows;
  });

/** Take back a jotting and its photographs: entries of their own, also while it is still on this phone. */
export const takeBack = (ids, why) =>
  write(async (device, time, made) => ids.map((id) => rowOf(struckOut(device, time, id, why), device, made, id)));

/** All rows, in the order of work. */
export const rows = () => within(["entries"], "readonly", (s) => got(s.entries.getAll()));

/** The rows to send next, by their count. One that leans on another waits until that one is acknowledged. */
export async function batch(site) {
  const all = await rows();
  const byId = new Map(all.map((row) => [row.id, row]));
  const stuck = new Set();
  const next = [];
  const open = all.filter((row) => row.state === "phone").sort((a, b) => a.n - b.n);
  for (const row of open) {
    const target = byId.get(row.leans);
    const held = target && (stuck.has(target.id) || target.state === "refused" || target.state === "twice");
    if (held || (row.site && row.site !== site)) stuck.add(row.id);
    else if (target?.state === "phone" && next.includes(target)) break;
    else if (target?.state === "phone") stuck.add(row.id);
    else next.push(row);
    if (next.length === AT_ONCE) break;
  }
  return next;
}

/** Note that rows are being sent: from now on the record may hold them, whether or not an answer comes. */
export const tried = (ids) =>
  within(["entries"], "readwrite", async ({ entries }) => {
    for (const row of await found(entries, ids)) if (!row.tried) await got(entries.put({ ...row, tried: true }));
  });

async function found(entries, ids) {
  const rows = await Promise.all(ids.map((id) => got(entries.index("id").get(id))));
  return rows.filter(Boolean);
}

/**
 * What the laptop said of the entries sent. A row is done only when its own id was acknowledged; a photograph leaves the
 * phone with the last row that needs it. `stored`: ids; `refused`: sentences by id; `taken`: ids that hold something else.
 */
export const settle = ({ stored, refused, taken, tick }) =>
  within(["entries", "photos", "settings"], "readwrite", async (stores) => {
    for (const row of await found(stores.entries, stored)) {
      if (OPEN.includes(row.state)) await got(stores.entries.put({ ...row, state: "record", says: "" }));
    }
    for (const row of await found(stores.entries, Object.keys(refused))) {
      if (row.state !== "phone") continue;
      const other = taken.has(row.id);
      const state = !other ? "refused" : row.moved ? "record" : "twice"; // moved: it had arrived under the old pairing
      await got(stores.entries.put({ ...row, state, says: state === "refused" ? refused[row.id] : "" }));
    }
    await seen(stores.settings, tick);
    await dropPhotos(stores);
  });

/** Go on from a tick that the laptop told. */
export async function seen(settings, tick) {
  const device = await deviceOf(settings);
  if (tick > device.tick) await got(settings.put({ ...device, tick }, "device"));
}

/** Let refused entries be, and what leans on them. */
export const letBe = (ids) =>
  within(["entries", "photos"], "readwrite", async (stores) => {
    for (const row of await got(stores.entries.getAll())) {
      const given = ids.includes(row.id) || ids.includes(row.leans);
      if (given && OPEN.includes(row.state)) await got(stores.entries.put({ ...row, state: "left" }));
    }
    await dropPhotos(stores);
  });

async function dropPhotos({ entries, photos }) {
  const needed = new Set();
  for (const state of OPEN) {
    for (const row of await got(entries.index("state").getAll(state))) needed.add(row.entry.body.fields?.sha256);
  }
  for (const sha256 of await got(photos.getAllKeys())) if (!needed.has(sha256)) await got(photos.delete(sha256));
}

