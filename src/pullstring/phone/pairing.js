// This phone: to which laptop it belongs, who writes, and the pairing with the six digits that the laptop shows.
// Place for roles: who writes will be one of the roles that the record knows. Place for full offline: the laptop's own root.

import { got, within } from "./database.js";
import { NotAllowed, NotArrived } from "./laptop.js";
import { deviceOf } from "./outbox.js";
import { part } from "./parts.js";
import { pairWith } from "./sending.js";
import { CODE_SILENT, STAY, belongs, signs } from "./words.js";

/** The code in the address that the laptop showed, once; it is taken out of the address. */
export function codeInAddress() {
  const code = new URLSearchParams(location.search).get("code") ?? "";
  if (location.search) history.replaceState(null, "", location.pathname);
  return /^\d{6}$/.test(code) ? code : "";
}

/** Pair, and give the sentence to say when it did not come about. */
export async function tryPairing(code, author) {
  try {
    await pairWith(code, author);
    return "";
  } catch (error) {
    if (error instanceof NotArrived) return CODE_SILENT;
    if (error instanceof NotAllowed) return `${error.message}.`;
    return error.message;
  }
}

/** The sheet of this phone. `done` takes what is to be said. */
export function phoneSheet({ device }, done) {
  const author = part("input", { id: "author", type: "text", value: device.author, maxLength: 40, autocomplete: "off" });
  author.addEventListener("change", () => keepAuthor(author.value.trim()));
  const code = part("input", {
    id: "code", type: "text", inputMode: "numeric", maxLength: 6, pattern: "[0-9]*", autocomplete: "one-time-code", className: "n",
  }); // prettier-ignore
  const form = part(
    "form",
    { id: "act" },
    part("div", { className: "field" }, part("label", { htmlFor: "author" }, "Who writes (a role or letters)"), author),
    part("div", { className: "field" }, part("label", { htmlFor: "code" }, "Code that the laptop shows, six digits"), code),
  );
  form.addEventListener("submit", async (asked) => {
    asked.preventDefault();
    done(await tryPairing(code.value.trim(), author.value.trim()));
  });
  const told = [belongs(location.host), STAY, device.token ? signs(device.short) : ""].filter(Boolean);
  return [...told.map((words) => part("p", {}, words)), form];
}

const keepAuthor = (author) =>
  within(["settings"], "readwrite", async ({ settings }) => {
    const device = await deviceOf(settings);
    await got(settings.put({ ...device, author }, "device"));
  });
