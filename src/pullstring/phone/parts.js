// Parts of a page: one element with what it has and what stands in it. Words only ever enter as text.

/** An element; `has` names properties, attributes where there is no such property, and `on...` listeners. */
export function part(name, has = {}, ...inside) {
  const made = document.createElement(name);
  for (const [key, value] of Object.entries(has)) {
    if (value === undefined || value === null) continue;
    if (key.startsWith("on")) made.addEventListener(key.slice(2), value);
    else if (key in made && key !== "list" && key !== "form") made[key] = value;
    else made.setAttribute(key, value);
  }
  made.append(...inside.flat().filter((one) => one !== null && one !== undefined));
  return made;
}

/** A button with its word. */
export const button = (word, onclick, has = {}) => part("button", { type: "button", onclick, ...has }, word);

/** An identifier, in the face of fixed width. */
export const mono = (text) => part("span", { className: "n" }, text);
