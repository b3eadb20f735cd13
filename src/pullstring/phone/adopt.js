// A new pairing. What waits is written anew under it, once: the change of the pairing and of every row is one transaction.

import { got, within } from "./database.js";
import { idOf, tagOf } from "./entry.js";
import { OPEN, deviceOf } from "./outbox.js";

/** Keep what the laptop gave for the code, before anything else is asked: the code holds only once. */
export const keepPairing = ({ token, device, short }, author) =>
  within(["settings"], "readwrite", ({ settings }) => got(settings.put({ token, device, short, author }, "pairing")));

/**
 * Go over to the kept pairing, now that the laptop said of which site it is, and readdress what waits for that site.
 *
 * A row that was tried may have arrived: it keeps its id, so that it cannot arrive twice. One that cannot have arrived
 * gets a new id and a new tag, for another phone may have used the old ones.
 */
export const adopt = (known) =>
  within(["entries", "settings"], "readwrite", async ({ entries, settings }) => {
    const pairing = await got(settings.get("pairing"));
    if (!pairing) return;
    const old = await deviceOf(settings);
    const device = {
      ...pairing,
      author: pairing.author || old.author,
      secret: pairing.token,
      site: known.site,
      n: known.last_n,
      tick: Math.max(old.tick, known.tick),
    };
    const names = { ids: new Map(), subjects: new Map() };
    const waiting = (await got(entries.getAll())).filter((row) => row.state === "phone" || row.state === "twice");
    for (const row of waiting.sort((a, b) => a.key - b.key)) {
      if (row.site && row.site !== known.site) continue;
      await got(entries.put(readdressed(row, device, names)));
    }
    await got(settings.put(device, "device"));
    await got(settings.delete("pairing"));
  });

function readdressed(row, device, names) {
  device.n += 1;
  device.tick += 1;
  const moved = row.tried && row.state === "phone";
  const id = moved ? row.id : idOf(device, device.n);
  names.ids.set(row.id, id);
  const entry = { ...row.entry, id, device: device.device, n: device.n, tick: device.tick };
  entry.body = moved ? row.entry.body : renamed(row.entry.body, device, names);
  const leans = names.ids.get(row.leans) ?? row.leans;
  return { ...row, id, n: device.n, site: device.site, state: "phone", moved, tried: moved, leans, entry };
}

/** A body under new names: its own tag, the jotting it belongs to, the entry it takes back. */
function renamed(body, device, names) {
  if (!body.subject) return { ...body, entry: names.ids.get(body.entry) ?? body.entry };
  const of = names.subjects.get(body.fields.of) ?? body.fields.of;
  const tag = of ? `${of.split(":")[1]}${body.subject.match(/[a-z]+$/)[0]}` : tagOf(device, device.n);
  const subject = `${of ? "photo" : "jotting"}:${tag}`;
  names.subjects.set(body.subject, subject);
  const fields = of ? { ...body.fields, of, file: `${tag}.${body.fields.file.split(".").pop()}` } : body.fields;
  return { ...body, subject, fields };
}

/** Keep step with the record of this pairing: the count it holds of us, and its own tag where that was changed. */
export const follow = (known) =>
  within(["entries", "settings"], "readwrite", async ({ entries, settings }) => {
    const device = await deviceOf(settings);
    if (device.site !== known.site) {
      for (const row of await got(entries.getAll())) {
        if (row.site === device.site) await got(entries.put({ ...row, site: known.site }));
      }
    }
    const next = { ...device, site: known.site, n: Math.max(device.n, known.last_n) };
    await got(settings.put(next, "device"));
    return next;
  });

const KEPT_DAYS = 7; // ours: how long what is done stays in the list
const KEPT_ROWS = 200; // ours

/** Clear away what is done and old; what waits is never touched. */
export const prune = (right) =>
  within(["entries"], "readwrite", async ({ entries }) => {
    const all = await got(entries.getAll());
    const leanedOn = new Set(all.filter((row) => OPEN.includes(row.state)).map((row) => row.leans));
    const done = all.filter((row) => !OPEN.includes(row.state) && !leanedOn.has(row.id));
    const old = right - KEPT_DAYS * 24 * 3600 * 1000;
    for (const [i, row] of done.reverse().entries()) {
      if (i >= KEPT_ROWS || row.made < old) await got(entries.delete(row.key));
    }
  });
