// Keys: a letter takes an act in hand, digits begin a length, Shift and a digit choose a wall type, arrows move the cross.

const $ = (id) => document.getElementById(id);
const STEP_M = 0.1, LONG_STEP_M = 1, NUDGE_M = 0.05;
const ARROWS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] };

const writing = (target) => target.matches?.("input:not([type=checkbox]):not([type=file]), textarea, select");

export function listen({ app, view, page, digit }) {
  const letters = Object.fromEntries(Object.entries(app.tools).map(([name, [key]]) => [key.toLowerCase(), name]));
  const tick = (id) => $(id).click();
  const others = {
    u: () => app.undo(), y: () => app.redo(), h: () => tick("show-picture"), i: () => tick("planned"), p: () => tick("pull"),
    n: () => $("names").focus(), t: () => app.hand.toggle?.(), f: () => app.hand.flip?.(), 0: () => app.fit(),
    "+": () => view.zoom(1.3), "=": () => view.zoom(1.3), "-": () => view.zoom(1 / 1.3),
  };

  function enter() {
    if (app.hand.enter && !view.byKeys) app.hand.enter(app);
    else app.click(view.at);
    page.draw();
  }
  function arrow(press) {
    const [dx, dy] = ARROWS[press.key];
    if (app.tool === "pick" && app.picked) app.nudge([dx, dy].map((d) => d * NUDGE_M * (press.shiftKey ? 10 : 1)));
    else view.step(...[dx, dy].map((d) => d * (press.shiftKey ? LONG_STEP_M : STEP_M)));
  }
  function back() {
    app.hand.back(app);
    page.draw();
  }
  const named = {
    Enter: enter, Escape: () => { app.hand.clear(app); app.pick(null); }, Backspace: back,
    Delete: () => app.remove(), ...Object.fromEntries(Object.keys(ARROWS).map((key) => [key, arrow])),
  };

  /** A digit begins a length; 0 alone shows the whole floor. */
  const begins = (key) => /^[\d.,]$/.test(key) && (key !== "0" || app.hand.anchor() || app.hand.dots?.length === 2);

  function typing(press) {
    const choice = press.shiftKey && /^(?:Digit|Numpad)([1-9])$/.exec(press.code);
    if (choice) digit(Number(choice[1]));
    else if (begins(press.key)) {
      $("typed").value = press.key;
      $("typed").focus();
    } else return false;
    return true;
  }

  document.addEventListener("keydown", (press) => {
    app.alt = press.altKey;
    if (press.key === " " && press.target === $("sheet")) view.holding = true;
    if (writing(press.target)) return;
    const command = press.ctrlKey || press.metaKey;
    if (command && /^[zy]$/i.test(press.key)) {
      press.preventDefault();
      if (press.key.toLowerCase() === "y" || press.shiftKey) app.redo();
      else app.undo();
    }
    if (command || (press.key === "Enter" && press.target.matches("button, a"))) return;
    const key = press.key.toLowerCase(), act = named[press.key] || (letters[key] && (() => app.take(letters[key])));
    if (!act && typing(press)) return void press.preventDefault();
    const done = act || others[key];
    if (!done) return;
    press.preventDefault();
    done(press);
    page.move();
    page.waiting();
  });
  document.addEventListener("keyup", (release) => {
    app.alt = release.altKey;
    if (release.key === " ") view.holding = false;
  });

  $("typed").addEventListener("keydown", (press) => {
    if (press.key !== "Enter" && press.key !== "Escape") return;
    press.preventDefault();
    const text = $("typed").value.trim();
    const taken = press.key === "Escape" || !text || app.typed(text, view.at);
    if (!taken) return;
    $("typed").value = "";
    $("sheet").focus({ preventScroll: true });
  });
  $("names").addEventListener("keydown", (press) => press.key === "Escape" && $("sheet").focus({ preventScroll: true }));
  document.addEventListener("paste", (paste) => {
    if (writing(paste.target)) return;
    const text = paste.clipboardData.getData("text/plain").trim();
    if (!text) return;
    $("names").value = [$("names").value.trim(), text].filter(Boolean).join("\n");
    $("names").dispatchEvent(new Event("input"));
    app.say(`${text.split("\n").length} names taken; each new room takes the next one.`);
  });
}
