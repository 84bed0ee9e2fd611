// Pot-life and cure clocks from the log's time stamps; they sound when their time is over.
import { make } from "./parts.js";

const SOUNDS = 10000; // ms between two soundings

export class Clocks {
  constructor(place, loud, now, stop) {
    Object.assign(this, { place, loud, now, stop, running: [], sounded: 0, silent: new Set() });
    setInterval(() => this.tick(), 1000);
  }

  show(running) {
    this.running = running;
    this.place.replaceChildren(...running.map((clock) => make("li", { "data-clock": clock.name },
      make("span", {}, clock.name), make("span", { class: "left" }),
      make("button", { type: "button", onclick: () => this.stop(clock.name) }, clock.name.startsWith("cup") ? "Empty" : "Ended"))));
    this.tick();
  }

  tick() {
    const over = [];
    for (const item of this.place.children) {
      const clock = this.running.find((each) => each.name === item.dataset.clock);
      const left = Math.round((clock.ends - this.now()) / 1000);
      item.querySelector(".left").textContent = `${left < 0 ? "over by " : ""}${spoken(Math.abs(left))}`;
      item.classList.toggle("over", left < 0);
      item.classList.toggle("soon", left >= 0 && left < 300);
      if (left < 0) over.push(clock.name);
    }
    const text = over.length ? `The time of ${over.join(", ")} is over.` : "";
    if (this.loud.textContent !== text) this.loud.textContent = text;
    this.loud.hidden = !over.length;
    if (over.length && Date.now() - this.sounded > SOUNDS) this.sound();
  }

  sound() {
    this.sounded = Date.now();
    navigator.vibrate?.([300, 150, 300]);
    try {
      this.audio ??= new AudioContext();
      const tone = this.audio.createOscillator();
      tone.frequency.value = 880;
      tone.connect(this.audio.destination);
      tone.start();
      tone.stop(this.audio.currentTime + 0.4);
    } catch { /* a browser without sound still shows it */ }
  }
}

function spoken(seconds) {
  const two = (number) => String(number).padStart(2, "0");
  const hours = Math.floor(seconds / 3600);
  const rest = `${two(Math.floor(seconds / 60) % 60)}:${two(seconds % 60)}`;
  return hours ? `${hours}:${rest}` : rest;
}
