// The text of the job on this page: undo, redo, and a copy that outlives a reload.

const SAME = 900; // ms within which changes of one field are one change
const DEEPEST = 200;

export class Store {
  constructor(job) {
    this.job = job;
    this.key = `bench:${job}`;
    this.text = this.disk = this.digest = "";
    this.past = [];
    this.future = [];
    this.last = { where: "", when: 0 };
  }

  // What is on disk; unsaved work from before a reload is taken up where the disk has not moved.
  open({ text, digest }) {
    const kept = JSON.parse(sessionStorage.getItem(this.key) || "null");
    this.disk = this.text = text;
    this.digest = digest;
    if (kept === null || kept.text === text) return false;
    this.text = kept.text;
    this.past = kept.past;
    this.digest = kept.digest; // saving will notice if the disk has moved meanwhile
    return true;
  }

  get dirty() {
    return this.text !== this.disk;
  }

  change(text, where) {
    if (text === this.text) return;
    const now = performance.now();
    if (where !== this.last.where || now - this.last.when > SAME || !where) this.past.push(this.text);
    if (this.past.length > DEEPEST) this.past.shift();
    this.last = { where, when: now };
    this.future = [];
    this.text = text;
    this.keep();
  }

  back() {
    return this.step(this.past, this.future);
  }

  forth() {
    return this.step(this.future, this.past);
  }

  step(from, to) {
    if (!from.length) return false;
    to.push(this.text);
    this.text = from.pop();
    this.last = { where: "", when: 0 };
    this.keep();
    return true;
  }

  saved(digest) {
    this.disk = this.text;
    this.digest = digest;
    this.keep();
  }

  keep() {
    const kept = { text: this.text, digest: this.digest, past: this.past.slice(-30) };
    if (this.dirty) sessionStorage.setItem(this.key, JSON.stringify(kept));
    else sessionStorage.removeItem(this.key);
  }
}
