// The camera looks without perspective, so that lengths across the sheet are
// true: the part is turned about the upright and tilted.

import { add, dot, scale, sub } from "./shape.js";

const rad = Math.PI / 180;

// Ways to look, as on a drawing: turn about the upright, tilt down.
export const looks = {
  corner: [36 * rad, 28 * rad],
  front: [0, 0],
  right: [90 * rad, 0],
  back: [180 * rad, 0],
  left: [-90 * rad, 0],
  top: [0, 90 * rad],
  below: [0, -90 * rad],
};

export class Camera {
  constructor() {
    [this.turn, this.tilt] = looks.corner;
    this.target = [0, 0, 0];
    this.zoom = 4; // CSS pixels per mm
    this.width = this.height = 1;
    this.moving = 0;
  }

  axes() {
    const c = Math.cos(this.turn), s = Math.sin(this.turn), ce = Math.cos(this.tilt), se = Math.sin(this.tilt);
    return {
      right: [c, s, 0],
      up: [-s * se, c * se, ce],
      away: [-s * ce, c * ce, -se],
    };
  }

  look(turn, tilt) {
    this.turn = turn;
    this.tilt = Math.max(-90 * rad, Math.min(90 * rad, tilt));
  }

  // screen returns where a point is seen, in CSS pixels, and how far away.
  screen(p, axes = this.axes()) {
    const d = sub(p, this.target);
    return [this.width / 2 + dot(d, axes.right) * this.zoom, this.height / 2 - dot(d, axes.up) * this.zoom, dot(d, axes.away)];
  }

  // ray returns a far origin in front of everything, and the direction.
  ray(x, y, reach) {
    const a = this.axes();
    const across = add(scale(a.right, (x - this.width / 2) / this.zoom), scale(a.up, (this.height / 2 - y) / this.zoom));
    return { from: add(add(this.target, across), scale(a.away, -reach)), dir: a.away };
  }

  pan(dx, dy) {
    const a = this.axes();
    this.target = add(this.target, add(scale(a.right, -dx / this.zoom), scale(a.up, dy / this.zoom)));
  }

  // nearer scales the picture about a place on the screen.
  nearer(factor, x = this.width / 2, y = this.height / 2) {
    const zoom = Math.max(0.02, Math.min(4000, this.zoom * factor));
    const k = 1 / this.zoom - 1 / zoom;
    const a = this.axes();
    this.target = add(this.target, add(scale(a.right, (x - this.width / 2) * k), scale(a.up, (this.height / 2 - y) * k)));
    this.zoom = zoom;
  }

  // framed returns the target and the zoom at which a box fills a share of
  // the sheet.
  framed(min, max, share) {
    const a = this.axes();
    const d = sub(max, min);
    const span = (v) => Math.abs(v[0] * d[0]) + Math.abs(v[1] * d[1]) + Math.abs(v[2] * d[2]);
    const zoom = Math.min((this.width * share) / Math.max(span(a.right), 1e-3), (this.height * share) / Math.max(span(a.up), 1e-3));
    return { target: scale(add(min, max), 0.5), zoom: Math.max(0.02, Math.min(4000, zoom)) };
  }

  // matrix is column-major, for the graphics card; depth runs over ±reach.
  matrix(reach) {
    const { right, up, away } = this.axes();
    const kx = (2 * this.zoom) / this.width, ky = (2 * this.zoom) / this.height, kz = 1 / reach;
    return new Float32Array([
      right[0] * kx, up[0] * ky, away[0] * kz, 0,
      right[1] * kx, up[1] * ky, away[1] * kz, 0,
      right[2] * kx, up[2] * ky, away[2] * kz, 0,
      -dot(right, this.target) * kx, -dot(up, this.target) * ky, -dot(away, this.target) * kz, 1,
    ]);
  }

  // glide moves to a pose by small steps, or at once where people asked for
  // no motion; drawn is called after every step.
  glide(pose, drawn) {
    const begun = ++this.moving;
    const from = { turn: this.turn, tilt: this.tilt, target: this.target, zoom: this.zoom };
    const to = { ...from, ...pose };
    const around = Math.round((from.turn - to.turn) / (2 * Math.PI)) * 2 * Math.PI;
    to.turn += around;
    const set = (k) => {
      this.look(from.turn + (to.turn - from.turn) * k, from.tilt + (to.tilt - from.tilt) * k);
      this.target = add(from.target, scale(sub(to.target, from.target), k));
      this.zoom = from.zoom * Math.pow(to.zoom / from.zoom, k);
      drawn();
    };
    if (matchMedia("(prefers-reduced-motion: reduce)").matches) return set(1);
    const start = performance.now(), took = 180;
    const step = (now) => {
      if (begun !== this.moving) return;
      const k = Math.max(0, Math.min(1, (now - start) / took));
      set(k * k * (3 - 2 * k));
      if (k < 1) requestAnimationFrame(step);
    };
    requestAnimationFrame(step);
  }

  stop() {
    this.moving++;
  }
}

