// The column at the right: names to come, wall types, how sure, the picture, and what is picked.
import { lieWords } from "./draw_picture.js";
import { named, onFloor, sameTag } from "./draw_plan.js";
import { FORMS } from "./draw_things.js";
import { KINDS } from "./draw_openings.js";
import { choices, chosen } from "./draw_types.js";
import { saysWhat, thingOf } from "./draw_pick.js";

const $ = (id) => document.getElementById(id);
export const option = (value, words, selected = false) => {
  const made = new Option(words, value, selected, selected);
  return made;
};

/** Names that are still to come: those of the list less those that are drawn, each as often as it stands there. */
export function namesToCome(shapes, text) {
  const drawn = onFloor(shapes).map((r) => named(r).toLowerCase());
  return text.split("\n").map((n) => n.trim()).filter(Boolean).filter((name) => {
    const at = drawn.indexOf(name.toLowerCase());
    if (at >= 0) drawn.splice(at, 1);
    return at < 0;
  });
}

export function fillTypes(app) {
  for (const name of ["outer", "inner"]) {
    const all = choices(app.shapes), now = chosen(app.shapes, app.options[name]).id;
    $(name).replaceChildren(...all.map((c, i) => option(c.id, name === "inner" && i < 9 ? `${i + 1}: ${c.words}` : c.words, c.id === now)));
  }
}

export function fillToCome(app) {
  const list = app.toCome(), next = app.nextRoom();
  $("to-come").replaceChildren(...list.slice(0, 14).map((room, i) => {
    const item = document.createElement("li"), button = document.createElement("button");
    button.type = "button";
    button.textContent = room.tag ? `${room.name || room.tag} (${room.tag})` : room.name;
    const now = room.name === next.name && room.tag === next.tag && list.findIndex((r) => r.name === room.name && r.tag === room.tag) === i;
    button.setAttribute("aria-pressed", String(now));
    button.addEventListener("click", () => app.chooseRoom(room));
    item.append(button);
    return item;
  }));
}

export function fillLie(app) {
  const scan = app.scan(), box = $("lie");
  const said = scan ? lieWords(scan, app.lies()) : ["No picture yet. It can be a photograph or a scan of a plan."];
  box.replaceChildren(...said.map((words, i) => Object.assign(document.createElement("p"), { textContent: words, className: i ? "caution" : "" })));
}

export function fillPale(app) {
  const others = app.shapes.floors.filter((f) => !sameTag(f.tag, app.shapes.floor.tag));
  const now = app.options.pale;
  $("pale").replaceChildren(option("", "no other floor", !now), ...others.map((f) => option(f.tag, `${f.tag} ${f.name}`, sameTag(f.tag, now))));
}

/** What is picked, with what of it can be changed. */
export function fillPicked(app) {
  const thing = thingOf(app.shapes, app.picked);
  $("picked").hidden = !thing;
  if (!thing) return;
  const { list } = app.picked;
  $("picked-what").textContent = saysWhat(app.shapes, app.picked);
  const byLabel = ["outlets", "positions"].includes(list);
  $("picked-name-label").hidden = ["walls", "openings", "blocks", "pathways", "ends"].includes(list);
  $("picked-name-label").firstChild.textContent = byLabel ? "Old label " : "Name ";
  $("picked-name").value = (byLabel ? thing.label : thing.name) || "";
  const kinds = kindsOf(app, list, thing);
  $("picked-kind-label").hidden = !kinds.length;
  $("picked-kind").replaceChildren(...kinds);
  $("picked-width-label").hidden = list !== "openings";
  $("picked-width").value = list === "openings" ? (thing.u1_m - thing.u0_m).toFixed(2) : "";
}

function kindsOf(app, list, thing) {
  if (list === "walls") return choices(app.shapes).map((c) => option(c.id, c.words, sameTag(c.id, thing.wall_type || "")));
  if (list === "openings") return Object.keys(KINDS).map((k) => option(k, k, k === thing.fill));
  if (list === "positions") return FORMS.position.mounts.map((m) => option(m, m, m === thing.mount));
  if (list === "blocks") return ["", "split", "bonded", "panel"].map((s) => option(s, s || "not said", s === (thing.style || "")));
  return [];
}
