// The acts of the coming walk, as the laptop planned them, and how far one is. No list of ticks is kept: an act is done when
// something written answers it, so a page loaded anew, a taking back and a second phone all come out right by themselves.

import { got, within } from "./database.js";
import { items } from "./listed.js";
import { recall, remember } from "./memory.js";

/** The walk that the laptop told last; empty when it is of another site. */
export const walkFor = (walk, site) => (walk?.site && walk.site === site ? walk : { acts: [], says: "", last_n: 0 });

/** Keep what the laptop told of the walk. */
export const keepWalk = (said) => within(["settings"], "readwrite", ({ settings }) => got(settings.put(said, "walk")));

const answers = (fields, match) => Object.entries(match).every(([name, value]) => (fields[name] ?? "") === value);

/** The things written that the laptop did not know of yet when it planned; taken back ones do not count. */
function unheard(rows, lastN) {
  const late = (item) => ["phone", "twice"].includes(item.row.state) || item.row.n > lastN;
  const stands = (item) => !item.strikes.length && !["left", "refused"].includes(item.row.state);
  return items(rows).filter((item) => late(item) && stands(item));
}

/** The jottings that were taken back on this phone. */
const takenBack = (rows) => new Set(items(rows).filter((item) => item.strikes.length).map((item) => item.tag));

/** Each act with the thing that answers it, if there is one; one thing answers one act. */
function answered(walk, rows) {
  const left = unheard(rows, walk.last_n);
  const back = takenBack(rows);
  return walk.acts.map((act) => {
    if (act.by && !back.has(act.by)) return { act, by: act.by };
    const at = left.findIndex((item) => answers(item.fields, act.match));
    return { act, by: at < 0 ? "" : left.splice(at, 1)[0].tag };
  });
}

const putOff = () => recall("put off", []);

/** How the walk stands: acts still to do, those put off last, and how many there are. */
export function standOf(walk, rows) {
  const all = answered(walk, rows);
  const open = all.filter(({ by }) => !by).map(({ act }) => act);
  const off = putOff();
  const later = open.filter((act) => off.includes(act.key)).sort((a, b) => off.indexOf(a.key) - off.indexOf(b.key));
  const first = open.filter((act) => !off.includes(act.key));
  return { open: [...first, ...later], later: later.map((act) => act.key), done: all.length - open.length, all: all.length };
}

/** Put an act off to the end of the walk, with those that need it; those put off before come after all others again. */
export function putOffAct(walk, act) {
  const keys = new Set([act.key]);
  for (const other of walk.acts) if (other.needs.some((key) => keys.has(key))) keys.add(other.key);
  const there = new Set(walk.acts.map(({ key }) => key));
  const off = putOff().filter((key) => there.has(key));
  remember("put off", [...off.filter((key) => !keys.has(key)), ...keys]);
}
