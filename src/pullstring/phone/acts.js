// The acts of the pocket: what each asks, the most used field last, next to the thumb. Any field may stay blank.

export const ACTS = {
  tag: { word: "New end", about: "Tag to hang on it", words: "What it looks like", parts: ["photo", "words", "about"], camera: true },
  plate: { word: "Plate opened", about: "Outlet", words: "What is behind it", parts: ["photo", "words", "about"], outlets: true },
  reading: { word: "Reading", about: "Measured at", words: "Anything odd", parts: ["words", "quantity", "from", "about", "value"] },
  tone: { word: "Tone", about: "Outlet I stand at", parts: ["sent_on", "about"], outlets: true },
  note: { word: "Note", about: "About which tag", words: "Words", parts: ["about", "photo", "words"] },
  more: { word: "Say more", words: "Words", parts: ["photo", "words"] },
  back: { word: "Take it back", words: "Why (may stay blank)", parts: ["words"], keep: "Take it back" },
};

/**
 * A form is named by its act and, where it is about something written already, by the tag of that: `more:A18`, `tag:A18`.
 * Each has its own draft.
 */
export const actOf = (name) => name.split(":")[0];
export const onWhat = (name) => name.split(":")[1] ?? "";

/** The acts as they stand above the thumb: the most used one last, and as wide as the page. */
export const ORDER = ["plate", "reading", "tone", "note", "tag"];

export const HEARD = ["loud", "faint", "nothing", "not looked"];

/** What a meter on site is set to, the usual first; the laptop may know more. */
export const USUAL = ["volts DC", "volts AC", "loop resistance", "resistance", "capacitance", "length"];

/** A level is read in a room, of one access point, at a spot: its form asks for that too. */
export const isLevel = (quantity) => (quantity ?? "").startsWith("level ");

export const LEVEL = {
  about: "Room, if not the one above",
  from: "Heard from which access point",
  words: "Where and how: at 3.2 4.5; doors shut; mean of 5",
};

const UNITS = {
  "volts DC": ["V", "mV"],
  "volts AC": ["V", "mV"],
  "loop resistance": ["ohm", "kohm"],
  "wire resistance": ["ohm", "kohm"],
  resistance: ["ohm", "kohm", "Mohm"],
  capacitance: ["nF", "uF", "pF"],
  length: ["m", "ft"],
  temperature: ["C", "F"],
  watts: ["W", "mW"],
  down: ["Mb/s", "Gb/s"],
  up: ["Mb/s", "Gb/s"],
  "level 2.4 GHz": ["dBm"],
  "level 5 GHz": ["dBm"],
  "level 6 GHz": ["dBm"],
};

/** The units in which a quantity is read, the usual first. */
export const unitsOf = (quantity) => UNITS[quantity] ?? [];

/** A value with the unit beside it, unless one was typed, or it is no number. */
export const withUnit = (value, unit) => (unit && /\d\s*$/.test(value) ? `${value.trim()} ${unit}` : value.trim());

const NUMBERED = /^(.*?)(\d+)$/;

const alike = (one, other) => one?.toUpperCase() === other.toUpperCase();

/**
 * The next free number: after the last tag that this phone hung, and never below what the laptop told.
 * `hung`: tags in the order of work; `ends`: tags that the laptop knows; `told`: its own next one.
 */
export function nextTag(hung, ends, told) {
  const last = hung.findLast((tag) => NUMBERED.test(tag)) ?? "";
  const pattern = (NUMBERED.exec(last) ?? NUMBERED.exec(told))?.[1];
  if (pattern === undefined) return told;
  const numbers = (tags) => tags.map((tag) => NUMBERED.exec(tag)).filter((found) => alike(found?.[1], pattern)).map((found) => found[2]);
  const used = numbers([...hung, ...ends]);
  const [from] = numbers([told]);
  const next = Math.max(1, ...used.map((number) => Number(number) + 1), Number(from ?? 1));
  const digits = Math.min(...[...used, from].filter(Boolean).map((number) => number.length));
  return `${pattern}${String(next).padStart(digits, "0")}`;
}
