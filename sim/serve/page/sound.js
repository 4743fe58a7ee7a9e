// The knock of the knee against its extension stop: a short, dull noise as loud as the energy there. Off at first.

import { byId } from "./base.js";

/** Energy that is as loud as it gets, J. */
const FULL_J = 5;

export class Knock {
  constructor() {
    this.on = false;
    byId("knock").addEventListener("click", () => this.set(!this.on));
  }

  set(on) {
    this.on = on;
    byId("knock").setAttribute("aria-pressed", on);
    if (on) this.context ??= new AudioContext();
  }

  /** Sounds if the knock lies between two instants. */
  passed(knock, from, to) {
    if (!this.on || !knock || knock.t_s < from || knock.t_s >= to) return;
    const c = this.context;
    // the ear hears amplitude: the root of energy
    const loud = Math.min(1, Math.sqrt(knock.energy_j / FULL_J));
    const gain = c.createGain();
    gain.gain.setValueAtTime(loud, c.currentTime);
    gain.gain.exponentialRampToValueAtTime(0.001, c.currentTime + 0.12);
    const tone = c.createOscillator();
    tone.type = "triangle";
    tone.frequency.setValueAtTime(180, c.currentTime);
    tone.frequency.exponentialRampToValueAtTime(60, c.currentTime + 0.1);
    tone.connect(gain).connect(c.destination);
    tone.start();
    tone.stop(c.currentTime + 0.13);
    window.dispatchEvent(new CustomEvent("kneedamp:knock", { detail: { loud } }));
  }
}
