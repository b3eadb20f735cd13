// Asking the laptop. Only an answer of the laptop's own kind counts as one: a page of a hotel, a cut line, a silence,
// a fault of the server are all the same thing, namely that nothing arrived.

const PATIENCE = { words: 15000, picture: 60000 }; // ours, milliseconds

/** No answer of the laptop. */
export class NotArrived extends Error {}
/** The laptop does not know this phone (any more), or not its code. */
export class NotAllowed extends Error {}
/** The laptop can never take this as it is. */
export class NotTaken extends Error {}

async function ask(path, { method = "GET", body, type, token, patience = PATIENCE.words } = {}) {
  const stop = new AbortController();
  const timer = setTimeout(() => stop.abort(), patience);
  const headers = { Accept: "application/json" };
  if (type) headers["Content-Type"] = type;
  if (token) headers.Authorization = `Bearer ${token}`;
  let answer;
  let said;
  try {
    const how = { method, body, headers, signal: stop.signal, cache: "no-store", credentials: "omit", redirect: "error" };
    answer = await fetch(path, how);
    if (!/^application\/json\b/i.test(answer.headers.get("Content-Type") ?? "")) throw new Error("not the laptop's words");
    said = await answer.json();
  } catch {
    throw new NotArrived("the laptop does not answer");
  } finally {
    clearTimeout(timer);
  }
  if (answer.ok && said && typeof said === "object") return said;
  const says = said?.error ?? said?.faults?.join(" ");
  if (typeof says !== "string" || answer.status >= 500) throw new NotArrived("the laptop does not answer");
  if (answer.status === 401 || answer.status === 403) throw new NotAllowed(says);
  throw new NotTaken(says);
}

const words = (method, body, token) => ({ method, body: JSON.stringify(body), type: "application/json", token });

function checked(right, said) {
  if (!right) throw new NotArrived("the laptop does not answer");
  return said;
}

/** The right to write, for a code. */
export async function pair(code, name) {
  const said = await ask("/api/pair", words("POST", { code, name }));
  return checked([said.token, said.device, said.short].every((part) => part && typeof part === "string"), said);
}

/** What this phone must know: site, rooms, tags, counts, the laptop's clock. */
export async function known(token) {
  const said = await ask("/api/pocket", { token });
  return checked(typeof said.site === "string" && Number.isInteger(said.tick) && Number.isInteger(said.last_n), said);
}

/** The acts of the coming walk. */
export async function walk(token) {
  const said = await ask("/api/pocket/walk", { token });
  return checked(typeof said.site === "string" && Array.isArray(said.acts) && Number.isInteger(said.last_n), said);
}

/** Bring the bytes of a photograph. */
export async function bring(photo, token) {
  const how = { method: "PUT", body: photo.blob, type: photo.type, token, patience: PATIENCE.picture };
  const said = await ask(`/api/photos/${photo.sha256}`, how);
  return checked(said.stored === photo.sha256, said);
}

const OTHER_CONTENT = /the same id\b/; // the record's own sentence for an id that holds something else

/** Send entries; gives which ids are in the record, which are refused with which sentence, and which hold something else. */
export async function send(entries, token) {
  const said = await ask("/api/entries", words("POST", { entries }, token));
  checked(Array.isArray(said.stored) && said.refused && typeof said.refused === "object", said);
  const ours = new Set(entries.map((entry) => entry.id));
  const refused = Object.fromEntries(Object.entries(said.refused).filter(([id]) => ours.has(id)));
  return {
    stored: said.stored.filter((id) => ours.has(id)),
    refused,
    taken: new Set(Object.keys(refused).filter((id) => OTHER_CONTENT.test(refused[id]))),
    tick: Number.isInteger(said.tick) ? said.tick : 0,
    now: said.now,
  };
}
