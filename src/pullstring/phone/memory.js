// Small things that a page remembers on this phone: the room, the last tag, what is half typed. Losing them loses no entry.

function read(store, name, otherwise) {
  try {
    return JSON.parse(store().getItem(name)) ?? otherwise;
  } catch {
    return otherwise;
  }
}

function write(store, name, value) {
  try {
    store().setItem(name, JSON.stringify(value));
  } catch {
    // no room: the page works without memory
  }
}

const phone = () => localStorage;
const page = () => sessionStorage;

/** What this phone remembers under a name, or `otherwise`. */
export const recall = (name, otherwise = "") => read(phone, name, otherwise);
export const remember = (name, value) => write(phone, name, value);

/** What this one page remembers, also when it is loaded anew. */
export const recallHere = (name, otherwise = "") => read(page, name, otherwise);
export const rememberHere = (name, value) => write(page, name, value);
