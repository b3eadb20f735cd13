// The phone's clock is a saying like any other: written down as it is, and beside it set right by the laptop's.

const two = (number) => String(Math.trunc(Math.abs(number))).padStart(2, "0");

/** A moment in milliseconds as a date with its offset: 2026-03-03T20:14:05+01:00. */
export function dated(ms) {
  const east = -new Date(ms).getTimezoneOffset();
  const local = new Date(ms + east * 60000).toISOString().slice(0, 19);
  return `${local}${east < 0 ? "-" : "+"}${two(east / 60)}:${two(east % 60)}`;
}

/** How far the laptop's clock is ahead of ours, when it said `now` between our `sent` and `received`. */
export function difference(now, sent, received) {
  const theirs = Date.parse(now);
  return Number.isFinite(theirs) ? Math.round(theirs - (sent + received) / 2) : null;
}

/** Now, twice: as this phone's clock says, and set right. */
export function now(clock) {
  const wrote = Date.now();
  return { wrote, right: wrote + (clock?.difference ?? 0) };
}

const MINUTE = 60000;
export const DAY = 24 * 60 * MINUTE;

/** How long ago, in words. */
export function age(ms) {
  const minutes = Math.max(0, Math.floor(ms / MINUTE));
  if (minutes < 1) return "less than a minute";
  if (minutes < 60) return minutes === 1 ? "1 minute" : `${minutes} minutes`;
  const hours = Math.floor(minutes / 60);
  if (hours < 48) return hours === 1 ? "1 hour" : `${hours} hours`;
  return `${Math.floor(hours / 24)} days`;
}
