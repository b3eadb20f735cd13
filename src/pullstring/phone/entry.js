// What a phone writes, in the record's own form. Ids are made here: from the secret of the pairing and the phone's own count,
// so that one count of one pairing is one id. Two phones that share a pairing, as after a copy of a phone, are found out by it.

import { sha256OfText } from "./sha256.js";

const SCHEMA = 1;
const EVIDENCE = { grade: "seen", method: "", conditions: "", instrument: "", by: "" };

/** The id of the `n`th entry of a pairing: 32 letters of 0-9 and a-f. */
export const idOf = (device, n) => sha256OfText(`entry ${n} of ${device.secret}`).slice(0, 32);

/** Text that can be kept: without null letters and halves of letters. */
const clean = (text) => new TextDecoder().decode(new TextEncoder().encode(String(text).replaceAll("\0", "")));

/** An entry with its envelope; takes the next count and tick from the device. */
function enveloped(device, time, kind, body) {
  device.n += 1;
  device.tick += 1;
  return {
    id: idOf(device, device.n),
    author: device.author || "phone",
    device: device.device,
    n: device.n,
    tick: device.tick,
    at: time.at,
    wrote: time.wrote,
    visit: "",
    photos: [],
    key: "",
    schema: SCHEMA,
    kind,
    body,
  };
}

/** Something noted of a new thing; blank fields are left out. */
function noted(device, time, subject, fields) {
  const said = Object.entries(fields).map(([name, value]) => [name, clean(value).trim()]);
  const body = {
    subject,
    fields: Object.fromEntries(said.filter(([, value]) => value)),
    evidence: { ...EVIDENCE },
    over: {},
    under: {},
    new: true,
  };
  return enveloped(device, time, "noted", body);
}

/** The tag of the jotting with a count. */
export const tagOf = (device, n) => `${device.short || "NEW"}${n}`;

/** A jotting. */
export const jotting = (device, time, fields) =>
  noted(device, time, `jotting:${tagOf(device, device.n + 1)}`, fields);

/** The letter of the `i`th photograph of a jotting. */
export const letter = (i) => String.fromCharCode(97 + (i % 26)).repeat(1 + Math.floor(i / 26));

const ENDINGS = { "image/jpeg": "jpg", "image/png": "png", "image/webp": "webp" };

/** A photograph of a jotting. */
export function photograph(device, time, of, i, photo) {
  const tag = `${of.split(":")[1]}${letter(i)}`;
  const file = `${tag}.${ENDINGS[photo.type] ?? "jpg"}`;
  const fields = { file, sha256: photo.sha256, of, privacy: "site", when_taken: "during" };
  return noted(device, time, `photo:${tag}`, fields);
}

/** The taking back of an entry. */
export const struckOut = (device, time, id, why) =>
  enveloped(device, time, "struck_out", { entry: id, why: clean(why).trim() || "taken back on the phone", redacted: false });
