// The page itself: which sheet is shown, the acts next to the thumb, and what is said after each of them.

import { ACTS, onWhat } from "./acts.js";
import { asksOf, planChanged } from "./asks.js";
import { showBlock } from "./block.js";
import { now } from "./clock.js";
import { got, within } from "./database.js";
import { draftCount } from "./drafts.js";
import { draftAnew, itemOf, keepForm } from "./keeping.js";
import { items, label, waits } from "./listed.js";
import { standing as walking } from "./next.js";
import { recall, recallHere, remember, rememberHere } from "./memory.js";
import { deviceOf, letBe } from "./outbox.js";
import { codeInAddress, tryPairing } from "./pairing.js";
import { awake, onChange, sendNow, standing } from "./sending.js";
import { known, listIn, sheetOf, titleOf } from "./sheets.js";
import { buttonsOf, holdThumb, printWord, rest, turnPrint } from "./thumb.js";
import { doesOfWalk } from "./walking.js";
import { NOT_KEPT, NO_DATABASE, PAIRED, arrived } from "./words.js";

const find = (id) => document.getElementById(id);
const page = { rows: [], known: {}, walk: {}, device: { device: "", token: "", site: "", author: "" }, right: Date.now(), place: recall("place") };
const others = new BroadcastChannel("pocket");
let view = recallHere("view", "list");
let home = recallHere("home", "list"); // where one comes back to: the list, or the next act
let open = null; // the form that is shown, and its photographs
let shown = null; // the act that is shown
let said = null; // the label and id of what was kept last
let keeping = false;

const say = (words) => {
  find("says").textContent = words;
};

/** Put parts where others stood, unless they are the same: what has the focus keeps it. */
function put(id, inside) {
  const there = [...find(id).childNodes];
  const same = there.length === inside.length && inside.every((part, i) => part.isEqualNode(there[i]));
  if (!same) find(id).replaceChildren(...inside);
}

/** Read what is kept, and show what depends on it; a form that is open stays untouched. */
async function look() {
  const read = await within(["entries", "settings"], "readonly", async ({ entries, settings }) => ({
    rows: await got(entries.getAll()),
    known: (await got(settings.get("known"))) ?? {},
    walk: (await got(settings.get("walk"))) ?? {},
    device: await deviceOf(settings),
    right: now(await got(settings.get("clock"))).right,
  }));
  Object.assign(page, read);
  const count = showBlock(page);
  ask();
  if (view === "list") put("sheet", [listIn(page, does)]);
  if (view === "list") put("acts", buttons());
  if (view === "next" && !shown && walking(page).open.length) show("next"); // an act that is shown stays until it is answered
  const last = said && page.rows.find((row) => row.id === said.id);
  if (last && !items(page.rows).filter(waits).some((item) => item.id === last.id || item.id === last.leans)) {
    say(arrived(said.label));
    said = null;
  }
  removeEventListener("beforeunload", warn);
  if (count) addEventListener("beforeunload", warn);
}

const warn = (leaving) => leaving.preventDefault();

/** What is asked of the person stands on the list; on a form only what is being done does, and whether the plan has changed. */
function ask() {
  const first = view === "next" && shown ? walking(page).open[0] : null;
  const asks = view === "list" ? asksOf({ ...page, standing }, { pair: () => show("phone"), send: awake }) : [];
  put("asks", first !== null && first?.key !== shown.key ? [planChanged(() => show("next"))] : asks);
}

const buttons = () => buttonsOf(view, does, { act: shown, walk: walking(page).open.length });

/** Show a sheet. */
function show(name) {
  view = known(name);
  if (["list", "next"].includes(view)) home = view;
  rememberHere("view", view);
  rememberHere("home", home);
  document.body.dataset.sheet = view === "list" ? "list" : "form";
  find("title").textContent = titleOf(view);
  find("aside").textContent = view === "list" ? printWord() : "Back";
  const sheet = sheetOf(view, page, does);
  open = sheet.open;
  shown = sheet.act ?? null;
  find("sheet").replaceChildren(...sheet.inside);
  find("acts").replaceChildren(...buttons());
  ask();
  say("");
  scrollTo(0, 0);
  find("title").focus({ preventScroll: true });
}

/** Keep what stands in the form. Nothing is said to be on this phone before the database says so. */
async function keepOpen(heard) {
  if (keeping || !open) return;
  keeping = true;
  const name = view;
  try {
    const item = itemOf(page.rows, onWhat(name));
    const kept = await keepForm(name, open.form, { photos: open.photos, heard, place: page.place, item });
    await changed().catch(() => {});
    show(name === "tone" && home === "list" ? name : home);
    isKept(kept, name);
  } catch {
    say(NOT_KEPT);
  } finally {
    keeping = false;
  }
}

/** Say that it is kept, and bring it to the laptop. */
function isKept(kept, name) {
  say(kept.says);
  said = { label: kept.label, id: kept.id };
  rest(find("acts"), name);
  navigator.storage?.persist?.().catch(() => {});
  sendNow();
}

const does = {
  say,
  submit: () => keepOpen(),
  tone: (heard) => keepOpen(heard),
  act: (name) => {
    show(name);
    if (ACTS[name].camera && !draftCount(name)) open.photos.open();
    else if (name === "note") open.form.elements.words.focus();
    else if (name === "reading" && open.form.elements.quantity.value) open.form.elements.value.focus();
  },
  pick: (place) => {
    page.place = place;
    remember("place", place);
    showBlock(page);
    show(home);
  },
  paired: async (problem) => {
    await look();
    if (!problem) show("list");
    say(problem || (standing.laptop === "here" ? PAIRED : ""));
  },
  more: (item) => show(`more:${item.tag}`),
  back: (item) => show(`back:${item.tag}`),
  anew: async (item) => show(await draftAnew(item)),
  letBe: async (item) => {
    await letBe([item.id]);
    say(`${label(item)} is let be.`);
    await changed();
  },
};

Object.assign(does, doesOfWalk({ page, say, show, changed: () => changed().catch(() => {}), isKept }));

/** Something was written: show it here and on other pages of this phone. */
async function changed() {
  others.postMessage("changed");
  await look();
}

function listen() {
  find("aside").addEventListener("click", () => {
    if (view !== "list") return show(view === "next" ? "list" : home);
    turnPrint();
    find("aside").textContent = printWord();
  });
  find("site").addEventListener("click", () => show("phone"));
  find("room").addEventListener("click", () => show("rooms"));
  find("waiting").addEventListener("click", () => (show("list"), awake()));
  onChange(() => changed().catch(() => {}));
  others.onmessage = () => look().catch(() => {});
  addEventListener("online", awake);
  document.addEventListener("visibilitychange", () => document.visibilityState === "visible" && awake());
  holdThumb(document.querySelector(".thumb"));
}

async function start() {
  listen();
  const code = codeInAddress();
  await look();
  show(view);
  if (page.device.token || !code) await sendNow();
  const strange = !page.device.token || standing.laptop === "stranger" || page.rows.some((row) => row.state === "twice");
  if (code && strange) does.paired(await tryPairing(code, page.device.author));
}

start().catch(() => say(NO_DATABASE));
