// What the log holds of one mould and part, as this page has to know it: ticks, values, clocks.

const SEPARATOR = " · ";

export class Kept {
  constructor() {
    this.entries = new Map();
    this.replaced = new Map(); // id → id of the entry that took its place
    this.newest = 0;
  }

  // Entries of the server, or one just made here; the server's copy takes the place of ours.
  take(entry) {
    if (entry.number) this.newest = Math.max(this.newest, entry.number);
    this.entries.set(entry.id, entry);
    if (entry.replaces) this.replaced.set(entry.replaces, entry.id);
  }

  forget(id) {
    const entry = this.entries.get(id);
    this.entries.delete(id);
    if (entry?.replaces) this.replaced.delete(entry.replaces);
  }

  standing(kind) {
    return [...this.entries.values()].filter((entry) => entry.kind === kind && !this.replaced.has(entry.id));
  }

  about(step, ids) {
    return (entry) => entry.mould === ids.mould && (entry.part || "") === (step.about === "part" ? ids.part : "");
  }

  // The tick of a step or of one line in it ("print.1", "print.1/2").
  tick(step, ids, line = "") {
    const name = `${step.id}${line}${SEPARATOR}`;
    return this.standing("event").filter(this.about(step, ids))
      .find((entry) => entry.what === "done" && entry.text.startsWith(name));
  }

  static tickText(step, line, title) {
    return `${step.id}${line}${SEPARATOR}${title}`;
  }

  static noteText(step, field, value) {
    return `${step.chapter}, ${step.title}${SEPARATOR}${field.label}: ${value}`;
  }

  // The entry that holds what was written in a field.
  value(step, field, ids) {
    const last = (list) => list.at(-1);
    if (field.keeps === "note") {
      const head = Kept.noteText(step, field, "");
      return last(this.standing("note").filter(this.about(step, ids)).filter((entry) => entry.text.startsWith(head)));
    }
    if (field.keeps === "weight") {
      return last(this.standing("weight").filter(this.about(step, ids)).filter((entry) => entry.what === field.what));
    }
    const angle = (entry) => Math.round(entry.angle ? (entry.angle.value * 180) / Math.PI : 0) === field.angle;
    const readings = this.standing("reading").filter(angle);
    if (field.keeps === "ring") {
      const name = ringName(field.what, this.entries.get(ids.mould));
      const ring = this.standing("coupon").find((entry) => entry.name === name);
      return last(readings.filter((entry) => entry.ring === name || (ring && entry.coupon === ring.id)));
    }
    const { stage } = step;
    const own = readings.filter((entry) => entry.mark === field.what && entry.stage === stage && entry.mould === ids.mould
      && (entry.part || "") === (stage === "part" ? ids.part : ""));
    const since = this.counts(step, ids);
    return last(own.filter((entry) => entry.at >= since));
  }

  // Readings count from the last mending on, and for a later part from that part on.
  counts(step, ids) {
    const mended = this.standing("event").filter((entry) => entry.what === "mended" && entry.mould === ids.mould
      && (step.stage !== "part" || entry.part === ids.part)).map((entry) => entry.at);
    const began = step.about === "part" ? this.entries.get(ids.part)?.at : "";
    return [began || "", ...mended].sort().at(-1);
  }

  waived(stage, ids) {
    return this.standing("waiver").find((entry) => entry.gate === stage && entry.mould === ids.mould
      && (stage === "printed" || entry.part === ids.part));
  }

  // Running clocks: name, when they end (ms), the entry that started them.
  clocks(ids) {
    const running = new Map();
    const own = this.standing("event").filter((entry) => entry.mould === ids.mould && (entry.part || "") === ids.part);
    for (const entry of own.sort((one, other) => (one.at < other.at ? -1 : 1))) {
      const clock = /^(.{1,40}), (\d+(?:\.\d)?) min$/.exec(entry.text || "");
      if (entry.what === "clock" && clock) running.set(clock[1], { name: clock[1], ends: Date.parse(entry.at) + 60000 * clock[2], entry });
      if (entry.what === "clock stopped") running.delete(entry.text);
    }
    return [...running.values()];
  }
}

export function ringName(name, mould) {
  return `${name}, mould ${mould?.name ?? ""}`.slice(0, 60);
}
