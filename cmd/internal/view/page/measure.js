// Picking and measuring. A pick is a corner, a place on an edge or a place on
// a face; what belongs to it (the circle of a rim, the radius of a bore, the
// plane of a face) comes with it.

import { add, cross, curveOf, dot, faceOf, hit, scale, size, sub, unit } from "./shape.js";

const cornerReach = 11, edgeReach = 7; // CSS pixels

// pickAt returns what lies under a place of the sheet, or null.
export function pickAt(mesh, camera, x, y, reach, keep) {
  const ray = camera.ray(x, y, reach);
  const found = hit(mesh, ray.from, ray.dir, keep);
  const axes = camera.axes();
  const depth = found ? dot(sub(found.at, camera.target), axes.away) : Infinity;
  const hidden = (p, z) => {
    // What lies a little behind the face under the pointer may still be its
    // border; what lies farther is asked for itself.
    if (z <= depth + 2 / camera.zoom) return false;
    const s = camera.screen(p, axes);
    const r = camera.ray(s[0], s[1], reach);
    const h = hit(mesh, r.from, r.dir, keep);
    return h !== null && dot(sub(h.at, camera.target), axes.away) < z - 1e-3 - 1 / camera.zoom;
  };
  const edge = nearestEdge(mesh, camera, axes, x, y, keep, hidden);
  if (edge) return edge;
  if (!found) return null;
  return { sort: "face", at: found.at, face: faceOf(mesh, found.face) };
}

function nearestEdge(mesh, camera, axes, x, y, keep, hidden) {
  const ends = [], along = [];
  for (let i = 0; i < mesh.crisp; i++) {
    const curve = mesh.curveOf[i];
    const e = mesh.edge.subarray(12 * i, 12 * i + 6);
    const a = [e[0], e[1], e[2]], b = [e[3], e[4], e[5]];
    const p = camera.screen(a, axes), q = camera.screen(b, axes);
    const dx = q[0] - p[0], dy = q[1] - p[1], l2 = dx * dx + dy * dy;
    const k = l2 > 0 ? Math.max(0, Math.min(1, ((x - p[0]) * dx + (y - p[1]) * dy) / l2)) : 0;
    const off = Math.hypot(p[0] + k * dx - x, p[1] + k * dy - y);
    if (off > cornerReach) continue;
    if (off <= edgeReach) along.push({ off, at: add(a, scale(sub(b, a), k)), z: p[2] + k * (q[2] - p[2]), curve });
    for (const [v, s] of [[a, p], [b, q]]) {
      const d = Math.hypot(s[0] - x, s[1] - y);
      if (d <= cornerReach) ends.push({ off: d, at: v, z: s[2], curve });
    }
  }
  const order = (l, m) => l.off - m.off || l.z - m.z;
  // A corner is where edges of different runs end; the joints of chords along
  // a rim are none.
  ends.sort(order);
  for (const c of ends) {
    const runs = new Set(ends.filter((o) => size(sub(o.at, c.at)) < 1e-5).map((o) => o.curve));
    if (runs.size < 2 || (keep && !keep(c.at)) || hidden(c.at, c.z)) continue;
    return { sort: "corner", at: c.at };
  }
  along.sort(order);
  for (const c of along) {
    if ((keep && !keep(c.at)) || hidden(c.at, c.z)) continue;
    return { sort: "edge", at: c.at, curve: curveOf(mesh, c.curve) };
  }
  return null;
}

export const mm = (x) => {
  const r = Math.abs(x) < 5e-4 ? 0 : x;
  return r.toFixed(Math.abs(r) < 1 ? 3 : 2) + " mm";
};
const deg = (a) => ((a * 180) / Math.PI).toFixed(2) + "°";
const place = (p) => p.map((x) => (Math.abs(x) < 5e-4 ? 0 : x).toFixed(2)).join(", ");

// about names a pick and what can be told of it alone.
export function about(p) {
  const rows = [];
  if (p.sort === "corner") rows.push(["corner", place(p.at)]);
  if (p.sort === "edge") {
    const c = p.curve;
    if (c.radius > 0) {
      rows.push([c.closed ? "circle" : "arc", `radius ${mm(c.radius)}, diameter ${mm(2 * c.radius)}`], ["centre", place(c.centre)]);
    } else rows.push([c.straight ? "straight edge" : "edge", mm(c.length)]);
  }
  if (p.sort === "face") {
    const f = p.face;
    const name = { flat: "flat face", cylinder: f.hollow ? "bore" : "cylinder", ball: f.hollow ? "hollow ball" : "ball", curved: "curved face" }[f.kind];
    rows.push([name, f.radius > 0 ? `radius ${mm(f.radius)}, diameter ${mm(2 * f.radius)}` : `${f.area.toFixed(2)} mm²`]);
    rows.push(["at", place(p.at)]);
  }
  return rows;
}

// centre is the point of a circle or ball, or a point on the axis of a
// cylinder, with the direction of the axis.
function centre(p) {
  if (p.sort === "edge" && p.curve.radius > 0) return { at: p.curve.centre, axis: p.curve.axis };
  if (p.sort === "face" && p.face.radius > 0) return { at: p.face.centre, axis: p.face.kind === "ball" ? null : p.face.axis };
  return null;
}

const plane = (p) => (p.sort === "face" && p.face.kind === "flat" ? { at: p.at, normal: unit(p.face.axis) } : null);

// measures lists what lies between two picks.
export function measures(p, q) {
  const rows = [];
  const d = sub(q.at, p.at);
  rows.push(["distance", mm(size(d))], ["along x, y, z", d.map((x) => (Math.abs(x) < 5e-4 ? 0 : x).toFixed(2)).join(", ")]);
  const fp = plane(p), fq = plane(q), cp = centre(p), cq = centre(q);
  if (fp && fq) {
    const angle = Math.acos(Math.min(1, Math.abs(dot(fp.normal, fq.normal))));
    if (angle < 1e-4) rows.push(["between the planes", mm(Math.abs(dot(d, fp.normal)))]);
    else rows.push(["angle of the planes", deg(angle)]);
  }
  for (const [f, c, other] of [[fp, cq, q], [fq, cp, p]]) {
    if (!f || plane(other)) continue;
    if (c && c.axis && Math.abs(dot(unit(c.axis), f.normal)) < 1e-4) rows.push(["plane to axis", mm(Math.abs(dot(sub(c.at, f.at), f.normal)))]);
    else rows.push(["square to the plane", mm(Math.abs(dot(sub(other.at, f.at), f.normal)))]);
  }
  if (cp && cq) {
    const e = sub(cq.at, cp.at);
    if (cp.axis && cq.axis && size(cross(unit(cp.axis), unit(cq.axis))) < 1e-4) {
      const u = unit(cp.axis);
      rows.push(["between the axes", mm(size(sub(e, scale(u, dot(e, u)))))]);
    } else rows.push(["between the centres", mm(size(e))]);
  }
  if (p.sort === "edge" && q.sort === "edge" && p.curve.straight && q.curve.straight) {
    const a = unit(p.curve.axis), b = unit(q.curve.axis), n = cross(a, b);
    if (size(n) < 1e-4) rows.push(["between the edges", mm(size(sub(d, scale(a, dot(d, a)))))]);
    else rows.push(["angle of the edges", deg(Math.acos(Math.min(1, Math.abs(dot(a, b)))))]);
  }
  return rows;
}

