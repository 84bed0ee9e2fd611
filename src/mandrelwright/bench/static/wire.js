// Talking to the server: JSON both ways, and a line on which only the newest wish is answered.

export class Refused extends Error {}

export async function send(path, body, signal) {
  const response = await fetch(path, {
    method: "POST",
    headers: { "content-type": "application/json" },
    body: JSON.stringify(body),
    signal,
  });
  return read(response);
}

export async function get(path) {
  return read(await fetch(path));
}

async function read(response) {
  if (response.status === 401) location.assign("/enter");
  const data = await response.json().catch(() => ({ detail: response.statusText }));
  if (!response.ok) throw new Refused(data.detail || "the bench did not answer");
  return data;
}

const page = crypto.getRandomValues(new Uint32Array(3)).join("-");

export class Line {
  constructor(path, name) {
    this.path = path;
    this.page = `${page}-${name}`.slice(0, 40);
    this.number = 0;
    this.running = null;
  }

  // The answer, or null when something newer was asked meanwhile.
  async ask(body) {
    const number = ++this.number;
    this.running?.abort();
    this.running = new AbortController();
    try {
      const sent = { ...body, page: this.page, number };
      const data = await send(this.path, sent, this.running.signal);
      return number === this.number && !data.superseded ? data : null;
    } catch (error) {
      if (error.name === "AbortError" || number !== this.number) return null;
      throw error;
    }
  }

  // What was asked is wanted no more.
  drop() {
    this.number += 1;
    this.running?.abort();
  }
}
