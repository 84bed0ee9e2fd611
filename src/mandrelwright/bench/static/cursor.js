// One cursor through section and strips: pointer, or the slider under them by keyboard.
import { at } from "./parts.js";

export class Cursor {
  constructor(units) {
    this.units = units;
    this.axis = null;
    this.drawn = at("drawn");
    this.slider = at("along");
    this.drawn.addEventListener("pointermove", (event) => this.point(event));
    this.drawn.addEventListener("pointerdown", (event) => this.point(event));
    this.slider.addEventListener("input", () => this.show(this.xOfSlider()));
  }

  set(axis) {
    this.axis = axis;
    if (!at("cursor").hidden) this.show(this.x);
  }

  xOfSlider() {
    const { tip, base } = this.axis;
    return tip + (base - tip) * (this.slider.value / 1000);
  }

  point(event) {
    if (!this.axis) return;
    const box = this.drawn.getBoundingClientRect();
    const share = (event.clientX - box.left) / box.width;
    const { left, low, scale, tip, base } = this.axis;
    const x = low + (share - left) / scale;
    if (x < tip || x > base) return;
    this.slider.value = Math.round((1000 * (x - tip)) / (base - tip));
    this.show(x);
  }

  share(x) {
    return this.axis.left + (x - this.axis.low) * this.axis.scale;
  }

  mark(place) {
    const [from, to] = place.map((x) => this.share(x));
    const band = at("place");
    band.hidden = false;
    band.style.left = `${100 * from}%`;
    band.style.width = `max(${100 * (to - from)}%, 6px)`;
    this.show((place[0] + place[1]) / 2);
    const sheet = at("sheet"); // where it sticks, its own place says nothing
    const still = getComputedStyle(sheet).position === "sticky" ? sheet.parentElement : sheet;
    still.scrollIntoView({ block: "start", behavior: "smooth" });
  }

  unmark() {
    at("place").hidden = true;
  }

  show(x) {
    if (!this.axis) return;
    this.x = x;
    const share = this.share(x);
    const { tip, base } = this.axis;
    const place = Math.round(((this.axis.x.length - 1) * (x - tip)) / (base - tip));
    const said = this.read(Math.min(Math.max(place, 0), this.axis.x.length - 1), x);
    const line = at("cursor");
    const box = at("readout");
    line.hidden = box.hidden = false;
    line.style.left = `${100 * share}%`;
    box.textContent = said.join("\n");
    box.style.left = share < 0.7 ? `calc(${100 * share}% + 8px)` : "auto";
    box.style.right = share < 0.7 ? "auto" : `calc(${100 - 100 * share}% + 8px)`;
    at("along-said").textContent = said[0];
    this.slider.setAttribute("aria-valuetext", said.join("; "));
  }

  length(value, digits) {
    return this.units() === "in" ? `${(value / 0.0254).toFixed(digits + 1)} in` : `${(value * 1000).toFixed(digits)} mm`;
  }

  read(place, x) {
    const axis = this.axis;
    const said = [`${this.length(axis.base - x, 0)} from the base`];
    said.push(`mould ø ${this.length(2 * axis.mould[place], 2)}`, `wall ${this.length(axis.wall[place], 2)}`);
    for (const layer of axis.layers) {
      if (layer.angle[place] !== null) said.push(`${layer.label}: ${layer.angle[place].toFixed(0)}°, ${this.length(layer.thick[place], 2)}`);
    }
    if (axis.gap.length && axis.gap[place] !== null) said.push(`gap when pulled ${(axis.gap[place] * 1e6).toFixed(0).replace("-", "−")} µm`);
    return said;
  }
}
