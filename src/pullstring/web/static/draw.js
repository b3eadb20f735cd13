// The page on which a house is drawn: which floor, then buttons, keys and pointer, each leading to one act.
import { App } from "./draw_app.js";
import { begin } from "./draw_begin.js";
import { changeRows, typedRows } from "./draw_change.js";
import { crossMark } from "./draw_marks.js";
import { fillLie, fillPale, fillPicked, fillToCome, fillTypes } from "./draw_panel.js";
import { hashOf, pictureRows } from "./draw_picture.js";
import { find } from "./draw_plan.js";
import { listen } from "./draw_keys.js";
import { sheetMarks } from "./draw_sheet.js";
import { View } from "./draw_view.js";
import { choices } from "./draw_types.js";

const $ = (id) => document.getElementById(id);
const LARGEST_BYTES = 12_000_000;
let app = null, view = null;

const page = {
  perDot: () => view.perDot,
  fit: (box) => view.fit(box),
  tell(words, warns) {
    $("says").textContent = words;
    $("says").classList.toggle("warns", warns);
  },
  waiting() {
    const count = app.book.waiting + app.pictures;
    const silent = app.book.silent ? "; the program does not answer, it is tried again" : "";
    $("waiting").textContent = count ? `${count} waiting to be stored${silent}` : "all of it";
    $("undo").disabled = !app.book.last && !app.hand.anchor();
    $("redo").disabled = !app.book.next;
  },
  askLength: () => $("typed").focus(),
  gone() { location.href = "/draw"; },
  draw() {
    for (const button of document.querySelectorAll("#tools button")) button.setAttribute("aria-pressed", String(button.dataset.tool === app.tool));
    fillToCome(app);
    fillTypes(app);
    fillLie(app);
    fillPicked(app);
    $("sure").value = app.how().grade;
    $("block-drawn").textContent = `${app.shapes.rooms.filter((r) => r.pieces.length && r.floor === app.shapes.floor.tag).length} rooms`;
    page.sheet();
    page.move();
    page.waiting();
  },
  sheet() {
    const scan = app.scan();
    $("fixed").innerHTML = sheetMarks({
      shapes: app.shown(), below: app.below(), lies: app.lies(), image: app.image,
      scan: scan && { ...scan, href: app.hrefs[scan.sha256] },
      showPicture: app.options.showPicture, showClicks: ["scale", "cross", "level", "join"].includes(app.tool),
      picked: app.picked, overlaps: app.overlaps(), boxes: app.boxes(), box: view.box(), px: view.perDot, size: app.size(),
    });
  },
  move() {
    const raw = view.at, p = app.point(raw), r = 7 * view.perDot;
    $("moving").innerHTML = `<g class="ahead">${app.hand.preview(app, p, raw)}</g>${crossMark(p, view.byKeys ? 2 * r : r)}`;
    const words = app.hand.says(app, p, raw);
    if ($("status").textContent !== words) $("status").textContent = words;
  },
};

function buttons() {
  $("tools").replaceChildren(...Object.entries(app.tools).map(([name, [key, tool]]) => {
    const button = document.createElement("button");
    Object.assign(button, { type: "button", innerHTML: `<kbd>${key}</kbd> ` });
    button.append(tool.words);
    button.dataset.tool = name;
    button.addEventListener("click", () => {
      app.take(name);
      $("sheet").focus({ preventScroll: true });
    });
    return button;
  }));
  const by = { undo: () => app.undo(), redo: () => app.redo(), nearer: () => view.zoom(1.3), farther: () => view.zoom(1 / 1.3), whole: () => app.fit() };
  for (const [id, act] of Object.entries(by)) $(id).addEventListener("click", act);
}

function options() {
  $("names").value = app.options.names;
  $("planned").checked = app.options.planned;
  $("sure").value = app.how().grade;
  fillPale(app);
  const set = (id, name, value = (field) => field.value) => $(id).addEventListener("input", () => {
    app.options[name] = value($(id));
    app.keep();
    page.draw();
  });
  for (const name of ["outer", "inner", "sure", "style", "names", "pale"]) set(name, name);
  for (const [id, name] of [["planned", "planned"], ["pull", "pull"], ["show-picture", "showPicture"]]) set(id, name, (field) => field.checked);
  $("file").addEventListener("change", () => $("file").files[0] && takePicture($("file").files[0]));
  $("picked-keep").addEventListener("click", changePicked);
  $("picked-away").addEventListener("click", () => app.remove());
  for (const id of ["picked-name", "picked-width"]) $(id).addEventListener("keydown", (press) => press.key === "Enter" && changePicked());
  $("frame").addEventListener("dragover", (over) => over.preventDefault());
  $("frame").addEventListener("drop", (drop) => {
    drop.preventDefault();
    if (drop.dataTransfer.files[0]) takePicture(drop.dataTransfer.files[0]);
  });
}

function changePicked() {
  const rows = changeRows(app, { name: $("picked-name").value.trim(), kind: $("picked-kind").value, width: $("picked-width").value });
  if (typeof rows === "string") return void app.say(rows, true);
  if (rows) app.act("change what was picked", rows);
  page.draw();
}

/** Digits choose the type of the next walls between rooms, or that of the wall that is picked. */
function digit(number) {
  const choice = choices(app.shapes)[number - 1];
  if (!choice) return;
  const wall = app.picked?.list === "walls" && find(app.shapes, "walls", app.picked.tag);
  const rows = wall ? typedRows(app, wall, choice.id) : [];
  if (rows.length) app.act("change the wall's type", rows);
  if (!wall) app.options.inner = choice.id;
  app.say(wall ? `This wall: ${choice.words}.` : `The next walls between rooms: ${choice.words}.`);
  app.keep();
  page.draw();
}

/** Keep a picture and lay it under the floor. */
async function takePicture(file) {
  if (file.size > LARGEST_BYTES) return void app.say("This picture is larger than 12 MB; save it smaller and choose it again.", true);
  const sha256 = await hashOf(await file.arrayBuffer());
  app.hrefs[sha256] = URL.createObjectURL(file);
  app.act("lay a picture under the floor", pictureRows(app, file, sha256));
  await showPicture();
  app.take("scale");
  app.fit();
  store(sha256, file);
  $("sheet").focus({ preventScroll: true });
  return undefined;
}

async function store(sha256, file) {
  app.pictures += 1;
  page.waiting();
  for (let wait = 300; ; wait = Math.min(8000, wait * 2)) {
    const answer = await fetch(`/api/photos/${sha256}`, { method: "PUT", headers: { "Content-Type": file.type }, body: file }).catch(() => null);
    if (answer && answer.status < 500) {
      const said = await answer.json().catch(() => ({}));
      if (!answer.ok) app.say(`The picture was not taken: ${said.error || "try another file"}. Undo it (U).`, true);
      break;
    }
    await new Promise((done) => setTimeout(done, wait));
  }
  app.pictures -= 1;
  page.waiting();
}

async function showPicture() {
  const scan = app.scan();
  if (!scan?.sha256) return;
  const image = new Image();
  image.src = app.hrefs[scan.sha256] || `/photo/${scan.sha256}`;
  await image.decode().catch(() => app.say("The picture under this floor cannot be shown.", true));
  app.image = { width: image.naturalWidth, height: image.naturalHeight };
}

function floorChoice(known) {
  const list = $("floor");
  list.replaceChildren(...known.floors.map((f) => new Option(`${f.tag} ${f.name}`, f.tag)), new Option("another floor ...", ""));
  list.value = app.shapes.floor.tag;
  list.addEventListener("change", () => { location.href = list.value ? `/draw?floor=${encodeURIComponent(list.value)}` : "/draw"; });
  list.closest("label").hidden = false;
  $("to-plan").href = `/plan?floor=${encodeURIComponent(app.shapes.floor.tag)}`;
  $("block-floor").textContent = `${app.shapes.floor.tag} ${app.shapes.floor.name}`;
  $("block-site").textContent = known.site;
  document.title = `Draw ${app.shapes.floor.tag} ${app.shapes.floor.name}`;
  $("sheet").setAttribute("aria-label", `Drawing of ${app.shapes.floor.name || app.shapes.floor.tag}`);
}

async function open(known, shapes, picture) {
  $("begin").hidden = true;
  $("drawing").hidden = false;
  app = new App({ site: known.site, shapes, page });
  view = new View($("sheet"), $("frame"), {
    moved: () => page.move(),
    clicked: (p) => app.click(p),
    dragged: (from, to, done) => app.drag(from, to, done),
    looked: () => { page.sheet(); page.move(); },
  });
  floorChoice(known);
  buttons();
  options();
  listen({ app, view, page, digit });
  await showPicture();
  app.fit();
  page.draw();
  app.book.run();
  $("sheet").focus({ preventScroll: true });
  addEventListener("beforeunload", (leaving) => { if (app.book.waiting + app.pictures) leaving.preventDefault(); });
  if (picture) takePicture(picture);
  return app;
}

async function start() {
  const night = document.cookie.includes("print=night");
  if (night) document.documentElement.dataset.print = "night";
  $("night").setAttribute("aria-pressed", String(night));
  const known = await (await fetch("/api/floors.json")).json();
  const tag = new URLSearchParams(location.search).get("floor");
  const shapes = tag ? await fetch(`/api/shapes/${encodeURIComponent(tag)}.json`) : null;
  if (shapes?.ok) return void (await open(known, await shapes.json(), null));
  if (tag) $("begin-says").textContent = `There is no floor ${tag}; choose one or begin a new one.`;
  begin(known, async (floor, { rows, entries, picture }) => {
    history.replaceState(null, "", `/draw?floor=${encodeURIComponent(floor)}`);
    const acts = [{ id: entries[0], label: "begin this floor", rows, entries }];
    sessionStorage.setItem(`draw/${known.site}/${floor}`, JSON.stringify({ acts, upto: 1 }));
    const fresh = await (await fetch("/api/floors.json")).json();
    await open(fresh, await (await fetch(`/api/shapes/${encodeURIComponent(floor)}.json`)).json(), picture);
  });
}

$("night").addEventListener("click", () => {
  const night = document.documentElement.dataset.print !== "night";
  if (night) document.documentElement.dataset.print = "night";
  else delete document.documentElement.dataset.print;
  $("night").setAttribute("aria-pressed", String(night));
  document.cookie = `print=${night ? "night" : "day"};path=/;max-age=31536000;samesite=strict`;
});

start();
