// Reads a 3MF plate with an independent boolean library: every copy is put in
// its place by the transform of its build item (3MF core specification, 3.3);
// all must stand on the bed, inside it, and apart from each other.
// Usage: node plate.mjs PLATE WIDTH DEPTH COPIES
import { readFileSync } from 'node:fs';
import { unzipSync, strFromU8 } from 'fflate';
import Module from 'manifold-3d';

const wasm = await Module();
wasm.setup();
const { Manifold, Mesh } = wasm;
const [path, width, depth, copies] = process.argv.slice(2);

const files = unzipSync(new Uint8Array(readFileSync(path)));
const model = strFromU8(files[Object.keys(files).find((f) => f.toLowerCase() === '3d/3dmodel.model')]);
const text = (s, name) => new RegExp(`\\b${name}="([^"]*)"`).exec(s)?.[1];
const objects = new Map();
for (const [whole] of model.matchAll(/<object\b[\s\S]*?<\/object>/g)) {
  const vertices = [], triangles = [];
  for (const [v] of whole.matchAll(/<vertex\b[^>]*>/g)) vertices.push(Number(text(v, 'x')), Number(text(v, 'y')), Number(text(v, 'z')));
  for (const [t] of whole.matchAll(/<triangle\b[^>]*>/g)) triangles.push(Number(text(t, 'v1')), Number(text(t, 'v2')), Number(text(t, 'v3')));
  objects.set(text(whole, 'id'), new Manifold(new Mesh({ numProp: 3, vertProperties: new Float32Array(vertices), triVerts: new Uint32Array(triangles) })));
}
const faults = [];
const placed = [];
for (const [item] of model.matchAll(/<item\b[^>]*>/g)) {
  const m = (text(item, 'transform') ?? '1 0 0 0 1 0 0 0 1 0 0 0').split(' ').map(Number);
  // Rows of the file are columns of a matrix for column vectors.
  const body = objects.get(text(item, 'objectid')).transform([m[0], m[1], m[2], 0, m[3], m[4], m[5], 0, m[6], m[7], m[8], 0, m[9], m[10], m[11], 1]);
  const b = body.boundingBox();
  if (Math.abs(b.min[2]) > 1e-4) faults.push(`an item stands at z = ${b.min[2]}`);
  if (b.min[0] < 0 || b.min[1] < 0 || b.max[0] > Number(width) || b.max[1] > Number(depth)) faults.push(`an item reaches from ${b.min} to ${b.max}`);
  placed.push(body);
}
if (placed.length !== Number(copies)) faults.push(`${placed.length} copies, not ${copies}`);
const apart = placed.reduce((sum, b) => sum + b.volume(), 0);
const union = Manifold.union(placed).volume();
if (Math.abs(apart - union) > 1e-3) faults.push(`copies overlap: ${apart} apart, ${union} together`);
console.log(`${faults.length ? 'FAIL' : 'ok  '} ${path.split('/').pop()}: ${placed.length} copies, ${union} mm3 ${faults.join('; ')}`);
process.exit(faults.length || !placed.length ? 1 : 0);
