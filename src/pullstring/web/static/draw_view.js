// The window on the sheet: nearer and farther, shifted, and where the pointer or the cross of the arrow keys stands in the house.

const CLOSEST_PX = 600; // screen dots to a metre
const FARTHEST_PX = 2;
const DRAGGED_PX = 5;
const MARGIN_PX = 30;
const HINT_PX = 22; // the line of words at the foot of the sheet

export class View {
  /** `heard` is told: moved(p), clicked(p), dragged(from, to, done), looked(). */
  constructor(svg, frame, heard) {
    Object.assign(this, { svg, frame, heard, centre: [6, 4], px: 60, at: [6, 4], byKeys: false, holding: false });
    this.#pointer();
    svg.addEventListener("wheel", (wheel) => {
      wheel.preventDefault();
      this.zoom(wheel.deltaY > 0 ? 1 / 1.18 : 1.18, this.house(wheel));
    }, { passive: false });
    new ResizeObserver(() => this.look()).observe(frame);
  }

  get perDot() { return 1 / this.px; }

  size() { return [this.frame.clientWidth || 800, this.frame.clientHeight || 560]; }

  /** The box of the house that is seen. */
  box() {
    const [w, h] = this.size().map((s) => s / this.px / 2);
    return [this.centre[0] - w, this.centre[1] - h, this.centre[0] + w, this.centre[1] + h];
  }

  look() {
    const [x0, y0, x1, y1] = this.box();
    this.svg.setAttribute("viewBox", `${x0} ${-y1} ${x1 - x0} ${y1 - y0}`);
    this.svg.style.setProperty("--px", String(this.perDot));
    this.heard.looked();
  }

  zoom(factor, about = this.byKeys ? this.at : this.centre) {
    const px = Math.min(CLOSEST_PX, Math.max(FARTHEST_PX, this.px * factor)), k = this.px / px;
    this.centre = [0, 1].map((i) => about[i] + (this.centre[i] - about[i]) * k);
    this.px = px;
    this.look();
  }

  /** Show a box of the house whole. */
  fit(box) {
    if (!box) return;
    const [w, whole] = this.size(), h = whole - HINT_PX;
    const wide = Math.max(box[2] - box[0], 1), high = Math.max(box[3] - box[1], 1);
    this.px = Math.min(CLOSEST_PX, Math.max(FARTHEST_PX, Math.min((w - 2 * MARGIN_PX) / wide, (h - 2 * MARGIN_PX) / high)));
    this.centre = [(box[0] + box[2]) / 2, (box[1] + box[3]) / 2 - HINT_PX / 2 / this.px];
    this.look();
  }

  shift(dx, dy) {
    this.centre = [this.centre[0] + dx / this.px, this.centre[1] + dy / this.px];
    this.look();
  }

  /** The place in the house under the pointer. */
  house(pointer) {
    const frame = this.svg.getBoundingClientRect(), [x0, , , y1] = this.box();
    return [x0 + (pointer.clientX - frame.left) / this.px, y1 - (pointer.clientY - frame.top) / this.px];
  }

  /** Shift the cross of the arrow keys; the window follows it. */
  step(dx, dy) {
    if (!this.byKeys && !this.inBox(this.at)) this.at = [...this.centre];
    this.byKeys = true;
    this.at = [this.at[0] + dx, this.at[1] + dy];
    if (!this.inBox(this.at)) {
      this.centre = [...this.at];
      this.look();
    }
    this.heard.moved(this.at);
  }

  inBox([x, y]) {
    const [x0, y0, x1, y1] = this.box();
    return x > x0 && x < x1 && y > y0 && y < y1;
  }

  #pointer() {
    let down = null;
    this.svg.addEventListener("pointerdown", (press) => {
      const pans = press.button === 1 || this.holding;
      if (press.button > 1) return;
      if (pans) press.preventDefault();
      down = { x: press.clientX, y: press.clientY, pans, at: this.house(press), far: false };
      this.svg.setPointerCapture(press.pointerId);
    });
    this.svg.addEventListener("pointermove", (move) => {
      this.byKeys = false;
      this.at = this.house(move);
      if (down?.pans) {
        this.shift(down.x - move.clientX, move.clientY - down.y);
        Object.assign(down, { x: move.clientX, y: move.clientY, far: true });
        return;
      }
      if (down && Math.hypot(move.clientX - down.x, move.clientY - down.y) > DRAGGED_PX) down.far = true;
      if (down?.far) this.heard.dragged(down.at, this.at, false);
      this.heard.moved(this.at);
    });
    this.svg.addEventListener("pointerup", (release) => {
      const was = down;
      down = null;
      if (!was || was.pans) return;
      this.byKeys = false;
      this.at = this.house(release);
      if (was.far) this.heard.dragged(was.at, this.at, true);
      else this.heard.clicked(this.at);
    });
    this.svg.addEventListener("pointercancel", () => { down = null; });
    this.svg.addEventListener("auxclick", (press) => press.preventDefault());
  }
}
