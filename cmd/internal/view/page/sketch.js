// A sketch is drawn by the server; here it is laid on the sheet, with the
// colours of the page, and can be moved and looked at closely.

// loadSketch fetches a drawing as a tree.
export function loadSketch(url) {
  return new Promise((done) => {
    const r = new XMLHttpRequest();
    r.responseType = "document";
    r.open("GET", url);
    r.onload = () => done(r.status === 200 ? r.responseXML?.documentElement ?? null : null);
    r.onerror = () => done(null);
    r.send();
  });
}

export class Drawing {
  constructor(place) {
    this.place = place;
    this.name = null;
    this.held = null;
    place.addEventListener("wheel", (e) => {
      e.preventDefault();
      this.nearer(Math.exp((e.deltaMode === 1 ? e.deltaY * 16 : e.deltaY) * 0.0015), e.clientX, e.clientY);
    }, { passive: false });
    place.addEventListener("pointerdown", (e) => {
      place.setPointerCapture(e.pointerId);
      this.held = [e.clientX, e.clientY];
    });
    place.addEventListener("pointermove", (e) => {
      if (!this.held) return;
      this.pan(e.clientX - this.held[0], e.clientY - this.held[1]);
      this.held = [e.clientX, e.clientY];
    });
    for (const kind of ["pointerup", "pointercancel"]) place.addEventListener(kind, () => (this.held = null));
  }

  // show lays a drawing out; that of the same sketch keeps the view when its
  // size is the same.
  show(name, tree) {
    const svg = document.importNode(tree, true);
    svg.removeAttribute("width");
    svg.removeAttribute("height");
    svg.setAttribute("role", "img");
    svg.setAttribute("aria-label", `sketch ${name}`);
    const whole = svg.getAttribute("viewBox");
    const kept = this.svg && this.name === name && this.whole === whole ? this.svg.getAttribute("viewBox") : whole;
    svg.setAttribute("viewBox", kept);
    this.place.replaceChildren(svg);
    Object.assign(this, { svg, name, whole });
  }

  box() {
    return this.svg.getAttribute("viewBox").split(" ").map(Number);
  }

  // perPixel is how long a pixel is on the drawing.
  perPixel() {
    const [, , w, h] = this.box(), r = this.place.getBoundingClientRect();
    return Math.max(w / r.width, h / r.height);
  }

  pan(dx, dy) {
    if (!this.svg) return;
    const [x, y, w, h] = this.box(), k = this.perPixel();
    this.svg.setAttribute("viewBox", `${x - dx * k} ${y - dy * k} ${w} ${h}`);
  }

  // nearer scales the visible box about a place on the screen.
  nearer(factor, cx, cy) {
    if (!this.svg) return;
    const [x, y, w, h] = this.box(), r = this.place.getBoundingClientRect(), k = this.perPixel();
    const f = Math.max(1 / (w / 0.5), Math.min(2000 / w, factor));
    const px = x + w / 2 + ((cx ?? r.left + r.width / 2) - r.left - r.width / 2) * k;
    const py = y + h / 2 + ((cy ?? r.top + r.height / 2) - r.top - r.height / 2) * k;
    this.svg.setAttribute("viewBox", `${px + (x - px) * f} ${py + (y - py) * f} ${w * f} ${h * f}`);
  }

  fit() {
    if (this.svg) this.svg.setAttribute("viewBox", this.whole);
  }
}
