// Every sentence of the pocket page.

export const HERE = "on this phone";
export const THERE = "in the record";

export const ALL_THERE = `all ${THERE}`;
export const NOTHING_YET = "Nothing is written yet. What you keep stands here, and whether it is on this phone or in the record.";
export const NO_ROOM_LEFT = "This phone has no room left: the words are kept, the photograph is not.";
export const NOT_KEPT = "This phone did not keep it; what you typed still stands here. Make room on the phone and keep it again.";
export const NOT_HELD = "This phone has no room to hold the photograph until you keep it; keep it now.";
export const AS_TAKEN = "The photograph could not be made smaller; it is kept as the camera made it.";
export const NO_PICTURE = "This file could not be read; take the photograph again.";
export const NO_DATABASE = "This browser keeps nothing on this phone. Open the page in a window that is not private.";
export const STAY = "Keep this page open: away from the laptop it cannot be opened again. What is kept stays on this phone all the same.";
export const PAIRED = "This phone is paired.";
export const NOT_PAIRED = "This phone is not paired with the laptop yet. You can write all the same; it is sent after pairing.";
export const PAIR_AGAIN = "Pair this phone again; all you wrote stays on it until then.";
export const TWICE = "Another phone writes as this one, perhaps a copy of it. Pair this phone anew; what waits is then sent under its new name.";
export const REFUSED = "The record cannot take this as it is:";
export const CODE_SILENT = "The laptop does not answer; the code was not used. Try again.";
export const NO_WALK = "The laptop has told no act yet. Come near it once; what is read can be written down all the same.";
export const WALK_DONE = "Every act of this walk is done. The laptop plans the next one once these answers are entered there.";
export const AGAIN = "put off before";
export const ELSE_ASKS = "What did you do instead? Write it down as it was; this act waits.";
export const PLAN_CHANGED = "The laptop has planned anew.";
export const PUT_OFF = "Put off to the end of the walk.";
export const PAD_EMPTY = "Type what it shows, or take one of the other answers.";
export const stepOf = (number, all) => `Act ${number} of ${all}`;
export const NO_ROOMS = "The laptop has told no rooms yet; write where you are.";

/** How many wait. */
export const waiting = (count) => (count ? `${count} ${HERE}` : ALL_THERE);
export const keptHere = (label) => `${label} is ${HERE}.`;
export const arrived = (label) => `${label} is ${THERE}.`;
export const SILENT = "The laptop does not answer. Keep this page open.";
export const signs = (short) => `This phone is ${short}: what it writes is numbered ${short}1, ${short}2 and so on.`;
export const old = (count, age) => `${wait(count)} on this phone, the oldest for ${age}. Bring the phone to the laptop before you leave.`;
export const fault = (says) => `This page has a fault (${says}). What you wrote stays on this phone.`;
export const otherSite = (count, site) => `${wait(count)} for ${site}; this address now serves another record. They go when it serves ${site} again.`;
export const belongs = (address) => `What is kept on this phone belongs to the address ${address}. Open it by this address again.`;
export const kilobytes = (size) => `${Math.max(1, Math.round(size / 1000))} kB`;

const wait = (count) => (count === 1 ? "1 entry waits" : `${count} entries wait`);
