// What if it stood elsewhere: an access point is dragged, or moved by keys, and the rooms' answers then stand beside those now.
const sheet = document.querySelector("[data-signal]");
const svg = sheet?.querySelector("svg");
const table = document.getElementById("rooms");
const told = document.getElementById("then");
const back = document.getElementById("back");
const CHANGED = 0.5; // dB: a smaller change is called none
const STEP = 0.5; // metres an arrow key moves; a tenth with Shift

const senders = svg && told ? JSON.parse(sheet.dataset.senders) : [];
const axes = svg?.querySelector(".axes");
let busy = false;
let waiting = null;
let now = null; // the one that was moved: { tag, part, home, dx, dy }

if (senders.length) svg.setAttribute("role", "group"); // what can be moved in it is not one picture
for (const { tag, label } of senders) {
  const part = ["unit", "position"].map((kind) => svg.querySelector(`.thing.radio[data-ref="${CSS.escape(`${kind}:${tag}`)}"]`)).find(Boolean);
  if (part) movable({ tag, part, home: middle(part), dx: 0, dy: 0 }, label);
}

/** The middle of the symbol, in metres of the drawing; its letters do not count. */
function middle(part) {
  const box = part.querySelector("circle").getBBox();
  return { x: box.x + box.width / 2, y: box.y + box.height / 2 };
}

/** An outline of the browser would be as wide as metres of the house are: this ring is drawn instead. */
function focusRing(at, radius) {
  const ring = document.createElementNS("http://www.w3.org/2000/svg", "circle");
  for (const [name, value] of Object.entries({ class: "focus", cx: at.x, cy: at.y, r: radius * 3 })) ring.setAttribute(name, value);
  return ring;
}

function movable(one, label) {
  const { part } = one;
  part.classList.add("movable");
  part.setAttribute("tabindex", "0");
  part.setAttribute("role", "button");
  part.setAttribute("aria-label", label);
  part.setAttribute("aria-describedby", "then");
  part.append(focusRing(one.home, part.querySelector("circle").r.baseVal.value));
  let from = null;
  part.addEventListener("pointerdown", (down) => {
    if (down.button) return;
    down.preventDefault();
    part.focus({ preventScroll: true });
    part.setPointerCapture(down.pointerId);
    const at = metres(down);
    from = { x: at.x - one.dx, y: at.y - one.dy };
  });
  part.addEventListener("pointermove", (move) => {
    if (!from) return;
    const at = metres(move);
    shift(one, at.x - from.x, at.y - from.y);
  });
  for (const end of ["pointerup", "pointercancel"]) part.addEventListener(end, () => { from = null; });
  part.addEventListener("keydown", (press) => {
    const by = press.shiftKey ? STEP / 5 : STEP;
    const way = { ArrowLeft: [-by, 0], ArrowRight: [by, 0], ArrowUp: [0, -by], ArrowDown: [0, by] }[press.key];
    if (way) shift(one, one.dx + way[0], one.dy + way[1]);
    else if (press.key === "Escape") home();
    else return;
    press.preventDefault();
  });
}

function metres(event) {
  return new DOMPoint(event.clientX, event.clientY).matrixTransform(svg.getScreenCTM().inverse());
}

function shift(one, dx, dy) {
  if (now && now !== one) home();
  const box = svg.viewBox.baseVal;
  now = one;
  one.dx = Math.min(Math.max(dx, -one.home.x), box.width - one.home.x);
  one.dy = Math.min(Math.max(dy, -one.home.y), box.height - one.home.y);
  one.part.setAttribute("transform", `translate(${one.dx.toFixed(3)} ${one.dy.toFixed(3)})`);
  const at = { x: one.home.x + one.dx + Number(axes.dataset.left), y: Number(axes.dataset.top) - one.home.y - one.dy };
  document.getElementById("sender").value = one.tag;
  for (const name of ["x", "y"]) document.getElementById(name).value = at[name].toFixed(2);
  back.hidden = false;
  document.getElementById("stale").hidden = false;
  ask({ sender: one.tag, floor: sheet.dataset.floor, x: at.x.toFixed(3), y: at.y.toFixed(3) });
}

/** One question at a time; of those that come meanwhile only the last is asked. */
async function ask(query) {
  waiting = query;
  if (busy) return;
  busy = true;
  while (waiting) {
    const asked = waiting;
    waiting = null;
    const stand = new URLSearchParams(location.search);
    const whole = new URLSearchParams(asked);
    for (const name of ["as_of", "known_by"]) if (stand.get(name)) whole.set(name, stand.get(name));
    try {
      const answer = await fetch(`/api/signal/moved.json?${whole}`);
      const said = await answer.json();
      if (!now) break;
      if (answer.ok) show(said.rooms);
      else told.textContent = said.error;
    } catch (error) {
      told.textContent = "The program does not answer.";
    }
  }
  busy = false;
}

function show(rooms) {
  const count = { better: 0, worse: 0 };
  table.classList.add("moved");
  for (const row of table.querySelectorAll("[data-room]")) {
    const then = rooms[row.dataset.room]?.[sheet.dataset.band];
    const by = then && row.dataset.level ? then.level - Number(row.dataset.level) : null;
    const kind = by === null || Math.abs(by) < CHANGED ? "same" : by > 0 ? "better" : "worse";
    if (kind !== "same") count[kind] += 1;
    const cell = row.querySelector(".then");
    cell.replaceChildren(then ? `${then.words} ` : "–");
    const change = document.createElement("span");
    change.textContent = !then || by === null ? "" : kind === "same" ? told.dataset.level : `${by > 0 ? "+" : ""}${Math.round(by)} dB`;
    cell.append(change);
    row.dataset.change = kind;
  }
  const words = ["better", "worse"].filter((kind) => count[kind]).map((kind) => told.dataset[kind].replace("{0}", count[kind]));
  told.textContent = words.join(", ") || told.dataset.same;
}

function home() {
  if (now) {
    now.part.removeAttribute("transform");
    now.dx = 0;
    now.dy = 0;
  }
  now = null;
  waiting = null;
  table.classList.remove("moved");
  for (const row of table.querySelectorAll("[data-room]")) delete row.dataset.change;
  for (const name of ["x", "y"]) document.getElementById(name).value = "";
  told.textContent = "";
  back.hidden = true;
  document.getElementById("stale").hidden = true;
}

back?.addEventListener("click", home);

// What a first question needs is made ready while the page is looked at; its answer is thrown away.
if (senders.length) {
  const { tag, x, y } = senders[0];
  const stand = new URLSearchParams(location.search);
  const whole = new URLSearchParams({ sender: tag, floor: sheet.dataset.floor, x, y });
  for (const name of ["as_of", "known_by"]) if (stand.get(name)) whole.set(name, stand.get(name));
  fetch(`/api/signal/moved.json?${whole}`).catch(() => {});
}
