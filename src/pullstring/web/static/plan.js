// A drawing to ask of: layers to hide, nearer and farther, and a click on a thing asks what goes dark without it.
const panel = document.getElementById("panel");
const CUTS = ["end", "cable", "unit", "port", "joint", "block", "row", "socket", "circuit", "switch", "incoming_line"];

for (const box of document.querySelectorAll(".layers input")) {
  box.addEventListener("change", () => {
    for (const part of document.querySelectorAll(`[data-layer="${box.value}"]`)) part.toggleAttribute("hidden", !box.checked);
  });
}

async function ask(ref) {
  const [kind] = ref.split(":");
  const stand = new URLSearchParams(location.search);
  const query = new URLSearchParams({ bare: "1" });
  for (const name of ["as_of", "known_by"]) if (stand.get(name)) query.set(name, stand.get(name));
  panel.setAttribute("aria-busy", "true");
  const parts = [];
  const wanted = [`/thing?ref=${encodeURIComponent(ref)}&${query}`];
  if (CUTS.includes(kind)) wanted.unshift(`/if-cut?tags=${encodeURIComponent(ref)}&${query}`);
  for (const address of wanted) {
    try {
      const answer = await fetch(address);
      parts.push(answer.ok ? await answer.text() : escaped(await answer.text()));
    } catch (error) {
      parts.push("<p class='caution'>The program does not answer.</p>");
    }
  }
  panel.innerHTML = parts.join("");
  panel.insertAdjacentHTML("beforeend", `<p><a class="button" href="/thing?ref=${encodeURIComponent(ref)}">All of it</a></p>`);
  panel.removeAttribute("aria-busy");
}

function escaped(text) {
  const p = document.createElement("p");
  p.className = "caution";
  p.textContent = text;
  return p.outerHTML;
}

function choose(part) {
  for (const old of document.querySelectorAll(".chosen")) old.classList.remove("chosen");
  part.classList.add("chosen");
  ask(part.dataset.ref);
}

for (const sheet of document.querySelectorAll("[data-sheet]")) {
  sheet.querySelector("svg")?.setAttribute("role", "group"); // what can be clicked in it is not one picture
  for (const part of sheet.querySelectorAll("[data-ref]")) {
    if (part.closest('[data-layer="walls"], [data-layer="rooms"]') && !/^room:/.test(part.dataset.ref)) continue;
    part.setAttribute("tabindex", "0");
    part.setAttribute("role", "button");
    if (!part.querySelector("title")) part.setAttribute("aria-label", part.dataset.ref.replace(":", " "));
  }
  sheet.addEventListener("click", (event) => {
    const part = event.target.closest("[data-ref]");
    if (part && !sheet.dataset.dragged) choose(part);
  });
  sheet.addEventListener("keydown", (press) => {
    const part = press.target.closest("[data-ref]");
    if (part && (press.key === "Enter" || press.key === " ")) {
      press.preventDefault();
      choose(part);
    }
  });
}

const drawn = document.querySelector("[data-zoomed] svg");
if (drawn) zoomable(drawn, drawn.closest("[data-sheet]"));

function zoomable(svg, sheet) {
  const whole = svg.viewBox.baseVal;
  const all = { x: whole.x, y: whole.y, w: whole.width, h: whole.height };
  let now = { ...all };
  const show = () => svg.setAttribute("viewBox", `${now.x} ${now.y} ${now.w} ${now.h}`);
  const by = (factor, cx = now.x + now.w / 2, cy = now.y + now.h / 2) => {
    const w = Math.min(all.w, Math.max(all.w / 20, now.w * factor));
    const f = w / now.w;
    now = { x: cx - (cx - now.x) * f, y: cy - (cy - now.y) * f, w, h: now.h * f };
    if (w === all.w) now = { ...all };
    show();
  };
  for (const button of document.querySelectorAll("[data-zoom]")) {
    const how = { in: () => by(0.7), out: () => by(1.4), all: () => { now = { ...all }; show(); } };
    button.addEventListener("click", how[button.dataset.zoom]);
  }
  sheet.addEventListener("wheel", (wheel) => {
    if (!wheel.ctrlKey && !wheel.metaKey) return;
    wheel.preventDefault();
    const at = new DOMPoint(wheel.clientX, wheel.clientY).matrixTransform(svg.getScreenCTM().inverse());
    by(wheel.deltaY > 0 ? 1.2 : 0.83, at.x, at.y);
  }, { passive: false });
  let from = null;
  sheet.addEventListener("pointerdown", (down) => { from = { x: down.clientX, y: down.clientY, ...now, X: now.x, Y: now.y }; delete sheet.dataset.dragged; });
  sheet.addEventListener("pointermove", (move) => {
    if (!from || !move.buttons || now.w === all.w) return;
    const scale = svg.getScreenCTM().a;
    const dx = (move.clientX - from.x) / scale, dy = (move.clientY - from.y) / scale;
    if (Math.hypot(move.clientX - from.x, move.clientY - from.y) > 4) sheet.dataset.dragged = "yes";
    now = { ...now, x: from.X - dx, y: from.Y - dy };
    show();
  });
  addEventListener("pointerup", () => { from = null; });
  sheet.addEventListener("keydown", (press) => {
    const step = now.w / 10;
    const moves = { "+": () => by(0.7), "-": () => by(1.4), ArrowLeft: () => { now.x -= step; show(); }, ArrowRight: () => { now.x += step; show(); },
      ArrowUp: () => { now.y -= step; show(); }, ArrowDown: () => { now.y += step; show(); } };
    if (press.target === sheet && moves[press.key]) { press.preventDefault(); moves[press.key](); }
  });
}
