// Entries on their way to the log: kept on this page until the server has them, sent once each.
import { Refused, send } from "./wire.js";

const AGAIN = 3000; // ms between two tries

export class Queue {
  constructor(job, changed) {
    this.path = `/api/shop/${encodeURIComponent(job)}/entry`;
    this.key = `bench:queue:${job}`;
    this.changed = changed;
    this.waiting = JSON.parse(sessionStorage.getItem(this.key) || "[]");
    this.refused = [];
    this.sending = false;
    this.cut = false;
    addEventListener("online", () => this.flush());
    setInterval(() => this.flush(), AGAIN);
  }

  add(entry) {
    this.waiting.push(entry);
    this.keep();
    this.flush();
  }

  // One after another, so that what points at an entry comes after it.
  async flush() {
    if (this.sending || !this.waiting.length) return;
    this.sending = true;
    while (this.waiting.length) {
      const [entry] = this.waiting;
      try {
        await send(this.path, entry);
      } catch (error) {
        if (!(error instanceof Refused)) {
          this.cut = true;
          break;
        }
        this.refused.push({ entry, reason: error.message });
      }
      this.cut = false;
      this.waiting = this.waiting.filter((each) => each.id !== entry.id);
      this.keep();
    }
    this.sending = false;
    this.changed();
  }

  dropRefused() {
    this.refused = [];
    this.changed();
  }

  keep() {
    if (this.waiting.length) sessionStorage.setItem(this.key, JSON.stringify(this.waiting));
    else sessionStorage.removeItem(this.key);
    this.changed();
  }
}
