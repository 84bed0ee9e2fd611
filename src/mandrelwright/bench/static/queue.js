// Entries on their way to the log: kept on this page until the server has them, sent once each.
// What the server questions or refuses is not kept; it waits here for an answer.
import { Refused, send } from "./wire.js";

const AGAIN = 3000; // ms between two tries

export class Queue {
  // changed: after every change. doubted: an entry is not kept, at least not yet.
  constructor(job, changed, doubted) {
    this.path = `/api/shop/${encodeURIComponent(job)}/entry`;
    this.key = `bench:queue:${job}`;
    Object.assign(this, { changed, doubted, waiting: [], asked: [], sending: false, cut: false });
    Object.assign(this, JSON.parse(sessionStorage.getItem(this.key) || "{}"));
    addEventListener("online", () => this.flush());
    setInterval(() => this.flush(), AGAIN);
  }

  // place: of the field it was written in. A field holds one question: the new text answers it.
  add(entry, place = "") {
    this.waiting.push({ entry, place });
    this.asked = this.asked.filter((item) => !place || item.place !== place);
    this.keep();
    this.flush();
  }

  // One after another, so that what points at an entry comes after it.
  async flush() {
    if (this.sending || !this.waiting.length) return;
    this.sending = true;
    while (this.waiting.length) {
      const [item] = this.waiting;
      try {
        const answer = await send(this.path, item.entry);
        if (answer.refused) this.ask({ ...item, text: answer.refused, refused: true });
        if (answer.question) this.ask({ ...item, text: answer.question, meant: answer.meant });
      } catch (error) {
        if (!(error instanceof Refused)) {
          this.cut = true;
          break;
        }
        this.ask({ ...item, text: `${error.message}.`, refused: true });
      }
      this.cut = false;
      this.waiting = this.waiting.filter(({ entry }) => entry.id !== item.entry.id);
      this.keep();
    }
    this.sending = false;
    this.changed();
  }

  // What was written anew or cleared meanwhile needs no answer: the later entry takes its place.
  ask(item) {
    const later = this.waiting.find(({ entry }) => entry.fields.replaces === item.entry.id);
    const before = item.entry.fields.replaces;
    if (!later) this.asked.push(item);
    else if (before) later.entry.fields.replaces = before;
    else if (later.entry.kind === "withdrawal") this.waiting = this.waiting.filter((each) => each !== later);
    else {
      delete later.entry.fields.replaces;
      delete later.entry.fields.because;
    }
    this.doubted(item.entry, later?.entry, this.waiting.includes(later));
  }

  // Nothing more waits, or the network is gone, or it takes too long.
  async settled(most) {
    const until = Date.now() + most;
    while (this.waiting.length && !this.cut && Date.now() < until) await new Promise((resolve) => setTimeout(resolve, 50));
  }

  drop(item) {
    this.asked = this.asked.filter((each) => each !== item);
    this.keep();
  }

  keep() {
    const { waiting, asked } = this;
    if (waiting.length || asked.length) sessionStorage.setItem(this.key, JSON.stringify({ waiting, asked }));
    else sessionStorage.removeItem(this.key);
    this.changed();
  }
}
