// Plays an animation: play, pause, scrub, quarter speed. Time is that of the motion, in seconds.

import { byId, shownLegs } from "./base.js";
import { number, say } from "./words.js";

/** Rest at the end before it begins again, s. */
const REST_S = 0.7;
/** After the last move the motion is begun no more, ms. */
const LOOP_MS = 1500;

export class Player {
  /** `draw(t)` shows an instant; `passed(from, to)` is told what has been played. */
  constructor(draw, passed) {
    Object.assign(this, { drawAt: draw, passed, t: 0, end: 1, playing: false, slow: false, once: false });
    byId("play").addEventListener("click", () => this.set(!this.playing));
    byId("quarter").addEventListener("click", () => this.setSlow(!this.slow));
    byId("scrub").addEventListener("input", () => {
      this.set(false);
      this.seek((byId("scrub").value / 1000) * this.end);
    });
  }

  /** New animations; the instant stays unless one is given. `same`: one drawing stands for both. */
  load(animations, same, t) {
    this.animations = animations;
    this.same = same;
    const shown = animations.filter(Boolean);
    this.end = Math.max(...shown.map((f) => f.end_s), 1e-3);
    this.seek(t ?? this.t);
  }

  seek(t) {
    this.t = Math.min(Math.max(t, 0), this.end);
    byId("scrub").value = Math.round((1000 * this.t) / this.end);
    this.say();
    this.drawAt(this.t);
  }

  set(playing) {
    if (playing && this.t >= this.end - 1e-6) this.t = 0;
    this.playing = playing;
    if (!playing) clearTimeout(this.looping);
    byId("play").textContent = say(playing ? "player.pause" : "player.play");
    byId("play").setAttribute("aria-pressed", playing);
    if (playing) {
      this.last = null;
      requestAnimationFrame((now) => this.tick(now));
    }
  }

  /** Plays again and again while something is moved; a little later it comes to rest. */
  loop() {
    if (!this.playing) this.set(true);
    this.once = false;
    clearTimeout(this.looping);
    this.looping = setTimeout(() => {
      this.once = this.playing;
    }, LOOP_MS);
  }

  setSlow(slow) {
    this.slow = slow;
    byId("quarter").setAttribute("aria-pressed", slow);
  }

  tick(now) {
    if (!this.playing) return;
    const passed_s = this.last === null ? 0 : Math.min((now - this.last) / 1000, 0.1);
    this.last = now;
    const from = this.t + (this.resting ?? 0);
    const to = from + passed_s * (this.slow ? 0.25 : 1);
    if (to > this.end + REST_S) {
      this.resting = 0;
      if (this.once) {
        this.once = false;
        this.set(false);
        this.seek(this.restAt ?? this.end);
        return;
      }
      this.seek(0);
    } else {
      this.resting = Math.max(0, to - this.end);
      if (from < this.end) {
        this.passed(from, to);
        this.seek(to);
      }
    }
    requestAnimationFrame((next) => this.tick(next));
  }

  /** The instant in words. */
  say() {
    const animation = this.animations?.[1] ?? this.animations?.[0];
    if (!animation) return;
    const contact = animation.contact_s;
    const parts = [`${number(this.t, 2)} s`];
    if (contact && this.t <= contact) parts.push(say("player.stride", { pct: Math.round((100 * this.t) / contact) }));
    if (contact && this.t > contact) parts.push(say("player.landing"));
    const before = animation.instants.filter(([t]) => t <= this.t + 1e-3).pop();
    if (before) parts.push(say("player.after", { name: before[1] }));
    const angle = (f) => `${Math.round(f.at("knee_deg", this.t))}°`;
    const angles = this.same ? [angle(animation)] : this.animations.map((f, i) => (f ? `${shownLegs.names[i]} ${angle(f)}` : null)).filter(Boolean);
    parts.push(say("player.bent", { angles: angles.join(", ") }));
    byId("instant").textContent = parts.join(" · ");
    byId("scrub").setAttribute("aria-valuetext", parts.join(", "));
  }
}
