// A mesh as the server packs it; pack.go tells the layout.

const version = 1;

export const kinds = ["flat", "cylinder", "ball", "curved"];

export function unpack(buffer) {
  const head = new Uint32Array(buffer, 0, 6);
  if (head[0] !== version) throw new Error("this page is older than the program: reload it");
  const [, corners, triangles, edges, faces, curves] = head;
  let at = 24;
  const take = (Kind, n) => {
    const a = new Kind(buffer, at, n);
    at += 4 * n;
    return a;
  };
  const m = {
    corners, triangles, edges, faces, curves,
    points: take(Float32Array, 3 * corners),
    normals: take(Float32Array, 3 * corners),
    face: take(Uint32Array, corners),
    index: take(Uint32Array, 3 * triangles),
    edge: take(Float32Array, 12 * edges),
    curveOf: take(Int32Array, edges),
    faceRows: take(Float32Array, 10 * faces),
    curveRows: take(Float32Array, 10 * curves),
  };
  // Crisp edges come first.
  m.crisp = m.curveOf.indexOf(-1);
  if (m.crisp < 0) m.crisp = edges;
  m.min = [Infinity, Infinity, Infinity];
  m.max = [-Infinity, -Infinity, -Infinity];
  for (let i = 0; i < m.points.length; i++) {
    const x = m.points[i], k = i % 3;
    if (x < m.min[k]) m.min[k] = x;
    if (x > m.max[k]) m.max[k] = x;
  }
  return m;
}

export function faceOf(m, i) {
  const r = m.faceRows.subarray(10 * i, 10 * i + 10);
  return { id: i, kind: kinds[r[0]], hollow: r[1] > 0, radius: r[2], centre: [r[3], r[4], r[5]], axis: [r[6], r[7], r[8]], area: r[9] };
}

export function curveOf(m, i) {
  const r = m.curveRows.subarray(10 * i, 10 * i + 10);
  return { id: i, closed: r[0] > 0, straight: r[1] > 0, radius: r[2], centre: [r[3], r[4], r[5]], axis: [r[6], r[7], r[8]], length: r[9] };
}

// Vectors are arrays of three.
export const add = (a, b) => [a[0] + b[0], a[1] + b[1], a[2] + b[2]];
export const sub = (a, b) => [a[0] - b[0], a[1] - b[1], a[2] - b[2]];
export const scale = (a, s) => [a[0] * s, a[1] * s, a[2] * s];
export const dot = (a, b) => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
export const cross = (a, b) => [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]];
export const size = (a) => Math.hypot(a[0], a[1], a[2]);
export const unit = (a) => scale(a, 1 / (size(a) || 1));

export const pointAt = (m, corner) => [m.points[3 * corner], m.points[3 * corner + 1], m.points[3 * corner + 2]];

// hit returns the first triangle that a ray meets, with the place. keep is
// asked about every place, so that what is cut away can be seen through.
export function hit(m, from, dir, keep) {
  let best = null;
  const p = m.points, ix = m.index;
  const [dx, dy, dz] = dir, [ox, oy, oz] = from;
  for (let t = 0; t < ix.length; t += 3) {
    const a = 3 * ix[t], b = 3 * ix[t + 1], c = 3 * ix[t + 2];
    const ux = p[b] - p[a], uy = p[b + 1] - p[a + 1], uz = p[b + 2] - p[a + 2];
    const vx = p[c] - p[a], vy = p[c + 1] - p[a + 1], vz = p[c + 2] - p[a + 2];
    const qx = dy * vz - dz * vy, qy = dz * vx - dx * vz, qz = dx * vy - dy * vx;
    const det = ux * qx + uy * qy + uz * qz;
    if (det === 0) continue;
    const sx = ox - p[a], sy = oy - p[a + 1], sz = oz - p[a + 2];
    const u = (sx * qx + sy * qy + sz * qz) / det;
    if (u < 0 || u > 1) continue;
    const rx = sy * uz - sz * uy, ry = sz * ux - sx * uz, rz = sx * uy - sy * ux;
    const v = (dx * rx + dy * ry + dz * rz) / det;
    if (v < 0 || u + v > 1) continue;
    const far = (vx * rx + vy * ry + vz * rz) / det;
    if (far <= 0 || (best && far >= best.far)) continue;
    const at = [ox + far * dx, oy + far * dy, oz + far * dz];
    if (keep && !keep(at)) continue;
    best = { far, at, triangle: t / 3, face: m.face[ix[t]] };
  }
  return best;
}
