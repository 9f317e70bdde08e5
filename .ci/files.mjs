// Reads the files that `perch build --json` reported (its JSON on standard
// input) with an independent boolean library, and compares volume, bounds and
// topology with what Perch printed. Usage: node files.mjs < report.json
import { readFileSync } from 'node:fs';
import { unzipSync, strFromU8 } from 'fflate';
import Module from 'manifold-3d';

const wasm = await Module();
wasm.setup();
const { Manifold, Mesh } = wasm;

// Corners that have the same coordinates are one corner: an STL file has no
// other way to say so.
function readSTL(path) {
  const data = readFileSync(path);
  const n = data.readUInt32LE(80);
  if (data.length !== 84 + 50 * n) throw new Error(`${path}: ${data.length} bytes for ${n} facets`);
  if (data.subarray(0, 5).toString() === 'solid') throw new Error(`${path}: a binary file must not begin with "solid"`);
  const ids = new Map(), vertices = [], triangles = [];
  for (let t = 0; t < n; t++) {
    for (let v = 0; v < 3; v++) {
      const at = 84 + 50 * t + 12 + 12 * v;
      const key = data.subarray(at, at + 12).toString('hex');
      if (!ids.has(key)) {
        ids.set(key, ids.size);
        for (let c = 0; c < 3; c++) vertices.push(data.readFloatLE(at + 4 * c));
      }
      triangles.push(ids.get(key));
    }
  }
  return { vertices, triangles };
}

function read3MF(path) {
  const files = unzipSync(new Uint8Array(readFileSync(path)));
  for (const name of ['[Content_Types].xml', '_rels/.rels', '3D/3dmodel.model']) {
    if (!Object.keys(files).some((f) => f.toLowerCase() === name.toLowerCase())) throw new Error(`${path}: no ${name}`);
  }
  const model = strFromU8(files[Object.keys(files).find((f) => f.toLowerCase() === '3d/3dmodel.model')]);
  if (!/<model[^>]*unit="millimeter"/.test(model)) throw new Error(`${path}: not in millimeters`);
  const number = (s, name) => Number(new RegExp(`\\b${name}="([^"]*)"`).exec(s)[1]);
  const vertices = [], triangles = [];
  for (const [v] of model.matchAll(/<vertex\b[^>]*>/g)) vertices.push(number(v, 'x'), number(v, 'y'), number(v, 'z'));
  for (const [t] of model.matchAll(/<triangle\b[^>]*>/g)) triangles.push(number(t, 'v1'), number(t, 'v2'), number(t, 'v3'));
  return { vertices, triangles };
}

const report = JSON.parse(readFileSync(0));
let passed = 0, failed = 0;
for (const file of report.files) {
  for (const part of file.parts) {
    if (!part.output) throw new Error(`${file.file}: ${part.part} was not written`);
    const mesh = part.output.endsWith('.stl') ? readSTL(part.output) : read3MF(part.output);
    const m = new Manifold(new Mesh({ numProp: 3, vertProperties: new Float32Array(mesh.vertices), triVerts: new Uint32Array(mesh.triangles) }));
    const faults = [];
    if (m.status() !== 'NoError') faults.push(`status ${m.status()}`);
    const off = Math.abs(m.volume() - part.volume_mm3) / part.volume_mm3;
    if (!(off <= 1e-6)) faults.push(`volume ${m.volume()} against ${part.volume_mm3}`);
    if (m.numTri() !== part.triangles) faults.push(`${m.numTri()} triangles against ${part.triangles}`);
    if (part.genus !== undefined && m.genus() !== part.genus) faults.push(`genus ${m.genus()} against ${part.genus}`);
    const box = m.boundingBox();
    for (let c = 0; c < 3; c++) {
      const size = part.max_mm[c] - part.min_mm[c];
      if (Math.abs(box.max[c] - box.min[c] - size) > 1e-4 * Math.max(1, size)) faults.push(`size ${box.max[c] - box.min[c]} against ${size}`);
    }
    if (faults.length) failed++; else passed++;
    console.log(`${faults.length ? 'FAIL' : 'ok  '} ${part.output.split('/').pop()}: volume ${part.volume_mm3} / ${m.volume()} (${off.toExponential(1)}), genus ${m.genus()}, ${m.numTri()} triangles ${faults.join('; ')}`);
    m.delete();
  }
}
console.log(`files: ${passed} passed, ${failed} failed`);
process.exit(failed || !passed ? 1 : 0);
