// The stage draws meshes with WebGL2: faces shaded by a lamp over the left
// shoulder, crisp edges and outlines as lines of even width, what is cut open
// hatched, mating bodies as ghosts, the bed as a grid of 10 mm.

const solidVertex = `#version 300 es
layout(location=0) in vec3 point;
layout(location=1) in vec3 normal;
layout(location=2) in uint face;
uniform mat4 view;
out vec3 at;
out vec3 n;
flat out uint f;
void main() {
  at = point; n = normal; f = face;
  gl_Position = view * vec4(point, 1.0);
}`;

const solidFragment = `#version 300 es
precision highp float;
in vec3 at;
in vec3 n;
flat in uint f;
uniform vec4 cut;      // normal and distance
uniform vec3 lamp;
uniform vec3 light;
uniform vec3 dark;
uniform vec3 tint;
uniform ivec2 picked;
uniform float alpha;
out vec4 colour;
void main() {
#ifdef CUT
  if (dot(cut.xyz, at) > cut.w) discard;
#endif
  float s = 0.25 + 0.75 * max(0.0, dot(normalize(n), lamp));
  vec3 c = mix(dark, light, s);
  if (int(f) == picked.x || int(f) == picked.y) c = mix(c, tint, 0.45);
  colour = vec4(c * alpha, alpha);
}`;

const openVertex = `#version 300 es
layout(location=0) in vec3 point;
uniform mat4 view;
void main() { gl_Position = view * vec4(point, 1.0); }`;

// Hatching at 45 degrees, as sections are drawn.
const openFragment = `#version 300 es
precision highp float;
uniform vec3 open;
uniform float pixel;   // device pixels to a CSS pixel
out vec4 colour;
void main() {
  float stripe = mod(gl_FragCoord.x + gl_FragCoord.y, 9.0 * pixel);
  colour = vec4(mix(open * 0.72, open, smoothstep(0.6, 1.6, stripe / pixel)), 1.0);
}`;

const lineVertex = `#version 300 es
layout(location=0) in vec3 a;
layout(location=1) in vec3 b;
layout(location=2) in int curve;
uniform mat4 view;
uniform vec2 half_;     // half of the sheet in device pixels
uniform float width;    // device pixels
uniform float bias;
uniform ivec2 picked;
out vec3 at;
out float off;          // from the middle of the line, device pixels
flat out int marked;
flat out float half_width;
void main() {
  // Which end, which side: each edge has four corners in a row. It is drawn
  // from as many vertices and not from instances, which drawing without a
  // graphics card takes one by one.
  int corner = gl_VertexID & 3;
  vec2 side = vec2(corner >> 1, (corner & 1) * 2 - 1);
  marked = curve >= 0 && (curve == picked.x || curve == picked.y) ? 1 : 0;
  vec4 p = view * vec4(a, 1.0), q = view * vec4(b, 1.0);
  vec2 d = (q.xy - p.xy) * half_;
  float l = length(d);
  d = l > 1e-6 ? d / l : vec2(1.0, 0.0);
  at = side.x < 0.5 ? a : b;
  vec4 e = side.x < 0.5 ? p : q;
  half_width = 0.5 * (marked == 1 ? width * 2.4 : width);
  off = (half_width + 1.0) * side.y;
  e.xy += (vec2(-d.y, d.x) * off + d * (side.x * 2.0 - 1.0) * 0.5 * half_width) / half_;
  e.z -= bias * (marked == 1 ? 2.0 : 1.0);
  gl_Position = e;
}`;

const lineFragment = `#version 300 es
precision highp float;
in vec3 at;
in float off;
flat in int marked;
flat in float half_width;
uniform vec4 cut;
uniform vec4 ink;
uniform vec3 tint;
uniform float slack;
out vec4 colour;
void main() {
  if (dot(cut.xyz, at) > cut.w + slack) discard;
  vec4 c = marked == 1 ? vec4(tint, 1.0) : vec4(ink.rgb * ink.a, ink.a);
  colour = c * clamp(half_width + 0.5 - abs(off), 0.0, 1.0);
}`;

const shades = {
  light: { paper: [0xf7, 0xf5, 0xee], ink: [0x2b, 0x2f, 0x33], light: [0xd3, 0xdb, 0xc6], dark: [0x4d, 0x5f, 0x57], ghostLight: [0xb9, 0xa9, 0xc4], ghostDark: [0x6a, 0x58, 0x78], open: [0xd8, 0xa0, 0x56], pick: [0x7a, 0x2f, 0x62], bed: [0x8d, 0x86, 0x74] },
  dark: { paper: [0x19, 0x16, 0x13], ink: [0x0d, 0x0b, 0x09], light: [0xb4, 0xbf, 0x9f], dark: [0x3c, 0x48, 0x40], ghostLight: [0x9a, 0x86, 0xa8], ghostDark: [0x4b, 0x3c, 0x57], open: [0xb8, 0x80, 0x3c], pick: [0xe3, 0xa0, 0xcd], bed: [0x6d, 0x62, 0x52] },
};
const colour = (c) => c.map((x) => x / 255);

// slowDrawing reports whether there is no graphics card behind WebGL: then
// edges are not smoothed, which would take several times as long.
function slowDrawing() {
  const gl = document.createElement("canvas").getContext("webgl2");
  if (!gl) return false;
  const more = gl.getExtension("WEBGL_debug_renderer_info");
  const name = gl.getParameter(more ? more.UNMASKED_RENDERER_WEBGL : gl.RENDERER);
  gl.getExtension("WEBGL_lose_context")?.loseContext();
  return /swiftshader|llvmpipe|softpipe|software/i.test(name);
}

export class Stage {
  constructor(canvas) {
    this.canvas = canvas;
    const gl = canvas.getContext("webgl2", { antialias: !slowDrawing(), alpha: false, stencil: true, powerPreference: "low-power" });
    this.gl = gl;
    if (!gl) return;
    this.whole = program(gl, solidVertex, solidFragment);
    this.opened = program(gl, solidVertex, solidFragment.replace("300 es", "300 es\n#define CUT"));
    this.line = program(gl, lineVertex, lineFragment);
    this.section = program(gl, openVertex, openFragment);
    this.sectionBuffer = gl.createBuffer();
    this.loaded = new Map(); // by blob
  }

  // load puts a mesh on the card once.
  load(id, mesh) {
    if (this.loaded.has(id) || !this.gl) return;
    const gl = this.gl, kept = [];
    const buffer = (kind, data) => {
      const b = gl.createBuffer();
      gl.bindBuffer(kind, b);
      gl.bufferData(kind, data, gl.STATIC_DRAW);
      kept.push(b);
    };
    const faces = gl.createVertexArray();
    gl.bindVertexArray(faces);
    buffer(gl.ARRAY_BUFFER, mesh.points);
    attribute(gl, 0, 3, 12, 0);
    buffer(gl.ARRAY_BUFFER, mesh.normals);
    attribute(gl, 1, 3, 12, 0);
    buffer(gl.ARRAY_BUFFER, mesh.face);
    gl.enableVertexAttribArray(2);
    gl.vertexAttribIPointer(2, 1, gl.UNSIGNED_INT, 0, 0);
    buffer(gl.ELEMENT_ARRAY_BUFFER, mesh.index);
    const lines = this.lines(mesh.edges, kept);
    this.loaded.set(id, { faces, lines, shape: mesh, count: mesh.index.length, kept });
  }

  // lines makes room for count edges: two ends and the curve they belong to,
  // for each of four corners.
  lines(count, kept) {
    const gl = this.gl;
    const array = gl.createVertexArray();
    gl.bindVertexArray(array);
    const buffer = gl.createBuffer();
    gl.bindBuffer(gl.ARRAY_BUFFER, buffer);
    gl.bufferData(gl.ARRAY_BUFFER, 4 * 28 * count, gl.DYNAMIC_DRAW);
    for (let i = 0; i < 2; i++) attribute(gl, i, 3, 28, 12 * i);
    gl.enableVertexAttribArray(2);
    gl.vertexAttribIPointer(2, 1, gl.INT, 28, 24);
    const corners = new Uint32Array(6 * count);
    for (let i = 0; i < count; i++) corners.set([4 * i, 4 * i + 1, 4 * i + 2, 4 * i + 2, 4 * i + 1, 4 * i + 3], 6 * i);
    const order = gl.createBuffer();
    gl.bindBuffer(gl.ELEMENT_ARRAY_BUFFER, order);
    gl.bufferData(gl.ELEMENT_ARRAY_BUFFER, corners, gl.STATIC_DRAW);
    gl.bindVertexArray(null);
    kept.push(buffer, order);
    const room = new Float32Array(28 * count);
    return { array, buffer, room, curves: new Int32Array(room.buffer), count: 0 };
  }

  put(l, count) {
    const gl = this.gl;
    l.count = count;
    if (count === 0) return;
    gl.bindBuffer(gl.ARRAY_BUFFER, l.buffer);
    gl.bufferSubData(gl.ARRAY_BUFFER, 0, l.room, 0, 28 * count);
  }

  // outline chooses the edges to draw: crisp ones that the part does not hide
  // by itself, and smooth ones where one side looks towards the viewer and the
  // other does not. In a part that is cut open every crisp edge counts.
  outline(m, away, open) {
    const { edge, curveOf } = m.shape, { room, curves } = m.lines;
    const [x, y, z] = away;
    let n = 0;
    for (let i = 0, e = 0; i < curveOf.length; i++, e += 12) {
      const left = edge[e + 6] * x + edge[e + 7] * y + edge[e + 8] * z < 0, right = edge[e + 9] * x + edge[e + 10] * y + edge[e + 11] * z < 0;
      const drawn = curveOf[i] < 0 ? left !== right : left || right || open;
      if (!drawn) continue;
      for (let corner = 0; corner < 4; corner++) {
        for (let k = 0; k < 6; k++) room[n + k] = edge[e + k];
        curves[n + 6] = curveOf[i];
        n += 7;
      }
    }
    this.put(m.lines, n / 28);
  }

  // keep drops every mesh that is not named.
  keep(ids) {
    for (const [id, m] of this.loaded) {
      if (ids.has(id) || id === "bed") continue;
      this.drop(id, m);
    }
  }

  drop(id, m) {
    const gl = this.gl;
    gl.deleteVertexArray(m.faces ?? null);
    gl.deleteVertexArray(m.lines.array);
    for (const b of m.kept) gl.deleteBuffer(b);
    this.loaded.delete(id);
  }

  // setBed lays out the grid under a part: lines every 10 mm and the border.
  setBed(size, middle, z) {
    if (!this.gl) return;
    const key = [...size, ...middle, z].join();
    if (key === this.bedKey) return;
    this.bedKey = key;
    const x0 = middle[0] - size[0] / 2, y0 = middle[1] - size[1] / 2, x1 = x0 + size[0], y1 = y0 + size[1];
    const rows = [];
    const row = (ax, ay, bx, by) => {
      for (let corner = 0; corner < 4; corner++) rows.push(ax, ay, z, bx, by, z, 0);
    };
    const steps = (s) => Math.floor(s / 2 / 10);
    for (let i = -steps(size[0]); i <= steps(size[0]); i++) row(middle[0] + 10 * i, y0, middle[0] + 10 * i, y1);
    for (let i = -steps(size[1]); i <= steps(size[1]); i++) row(x0, middle[1] + 10 * i, x1, middle[1] + 10 * i);
    row(x0, y0, x1, y0), row(x1, y0, x1, y1), row(x1, y1, x0, y1), row(x0, y1, x0, y0);
    const old = this.loaded.get("bed");
    if (old) this.drop("bed", old);
    const kept = [];
    const lines = this.lines(rows.length / 28, kept);
    lines.room.set(rows);
    for (let i = 6; i < rows.length; i += 7) lines.curves[i] = -1;
    this.put(lines, rows.length / 28);
    this.loaded.set("bed", { lines, kept });
  }

  // resize follows the sheet; it reports whether that changed anything.
  resize() {
    const ratio = Math.min(2, devicePixelRatio || 1), c = this.canvas;
    const w = Math.max(1, Math.round(c.clientWidth * ratio)), h = Math.max(1, Math.round(c.clientHeight * ratio));
    if (c.width !== w || c.height !== h) {
      c.width = w;
      c.height = h;
    }
    this.ratio = ratio;
  }

  // draw shows a scene: {part, mates, bed, cut, faces, curves, reach}.
  draw(scene, camera) {
    const gl = this.gl;
    if (!gl) return;
    this.resize();
    const shade = shades[matchMedia("(prefers-color-scheme: dark)").matches ? "dark" : "light"];
    const axes = camera.axes();
    const view = camera.matrix(scene.reach);
    const lamp = unit3(axes, -0.4, 0.55, -0.75);
    gl.viewport(0, 0, this.canvas.width, this.canvas.height);
    gl.clearColor(...colour(shade.paper), 1);
    gl.clear(gl.COLOR_BUFFER_BIT | gl.DEPTH_BUFFER_BIT | gl.STENCIL_BUFFER_BIT);
    gl.enable(gl.DEPTH_TEST);
    gl.disable(gl.BLEND);
    gl.blendFunc(gl.ONE, gl.ONE_MINUS_SRC_ALPHA);
    gl.disable(gl.CULL_FACE);
    const cut = scene.cut ?? [0, 0, 0, 1];
    const bias = (1.2 / camera.zoom + 1e-5 * scene.reach) / scene.reach;

    const faces = (m, light, dark, alpha) => {
      const { program, uniforms: u } = scene.cut ? this.opened : this.whole;
      gl.useProgram(program);
      gl.uniformMatrix4fv(u.view, false, view);
      if (scene.cut) gl.uniform4fv(u.cut, cut);
      gl.uniform3fv(u.lamp, lamp);
      gl.uniform3fv(u.light, colour(light));
      gl.uniform3fv(u.dark, colour(dark));
      gl.uniform3fv(u.tint, colour(shade.pick));
      gl.uniform2iv(u.picked, alpha < 1 ? [-1, -1] : scene.faces);
      gl.uniform1f(u.alpha, alpha);
      gl.bindVertexArray(m.faces);
      gl.drawElements(gl.TRIANGLES, m.count, gl.UNSIGNED_INT, 0);
    };
    const lines = (l, ink, alpha, width, cutHere, lift) => {
      if (l.count === 0) return;
      const u = this.line.uniforms;
      gl.useProgram(this.line.program);
      gl.uniformMatrix4fv(u.view, false, view);
      gl.uniform2f(u.half_, this.canvas.width / 2, this.canvas.height / 2);
      gl.uniform1f(u.width, width * this.ratio);
      gl.uniform1f(u.bias, lift);
      gl.uniform2iv(u.picked, alpha < 1 ? [-1, -1] : scene.curves);
      gl.uniform4fv(u.cut, cutHere);
      gl.uniform4f(u.ink, ...colour(ink), alpha);
      gl.uniform3fv(u.tint, colour(shade.pick));
      gl.uniform1f(u.slack, 1e-3);
      gl.bindVertexArray(l.array);
      gl.drawElements(gl.TRIANGLES, 6 * l.count, gl.UNSIGNED_INT, 0);
    };

    const part = this.loaded.get(scene.part);
    gl.cullFace(gl.BACK);
    if (part) {
      if (scene.cut) this.cutFace(part, scene, view, shade, () => faces(part, shade.light, shade.dark, 1));
      gl.enable(gl.CULL_FACE);
      faces(part, shade.light, shade.dark, 1);
      gl.disable(gl.CULL_FACE);
      gl.enable(gl.BLEND);
      gl.depthMask(false);
      this.outline(part, axes.away, Boolean(scene.cut));
      lines(part.lines, shade.ink, 1, 1.5, cut, bias);
      if (scene.cut) lines(this.rim(scene.part, part, scene.cut), shade.ink, 1, 1.5, [0, 0, 0, 1], 1.5 * bias);
    }
    gl.enable(gl.BLEND);
    gl.depthMask(false);
    const bed = this.loaded.get("bed");
    if (bed && scene.bed) lines(bed.lines, shade.bed, 0.34, 1, [0, 0, 0, 1], -bias);
    for (const id of scene.mates) {
      const m = this.loaded.get(id);
      if (!m) continue;
      gl.enable(gl.CULL_FACE);
      faces(m, shade.ghostLight, shade.ghostDark, 0.2);
      gl.disable(gl.CULL_FACE);
      this.outline(m, axes.away, Boolean(scene.cut));
      lines(m.lines, shade.ghostDark, 0.55, 1, cut, 0);
    }
    gl.depthMask(true);
    gl.bindVertexArray(null);
  }

  // rim is the border of the cut face: where triangles pass through its plane.
  // It is worked out again only when the cut or the part is another.
  rim(id, m, cut) {
    const key = id + cut.join();
    if (this.rimKey === key) return this.rimLines;
    const segments = crossing(m.shape, cut);
    if (this.rimLines) {
      this.gl.deleteVertexArray(this.rimLines.array);
      for (const b of this.rimKept) this.gl.deleteBuffer(b);
    }
    this.rimKept = [];
    this.rimKey = key;
    this.rimLines = this.lines(segments.length / 6, this.rimKept);
    const { room, curves } = this.rimLines;
    for (let i = 0, n = 0; i < segments.length; i += 6) {
      for (let corner = 0; corner < 4; corner++, n += 7) {
        for (let k = 0; k < 6; k++) room[n + k] = segments[i + k];
        curves[n + 6] = -1;
      }
    }
    this.put(this.rimLines, segments.length / 6);
    return this.rimLines;
  }

  // cutFace fills the plane of the cut where it passes through the part: there
  // a line of sight leaves what is kept once more than it enters it. again
  // draws the faces of the part.
  cutFace(part, scene, view, shade, again) {
    const gl = this.gl;
    gl.enable(gl.STENCIL_TEST);
    gl.colorMask(false, false, false, false);
    gl.disable(gl.DEPTH_TEST);
    gl.stencilFunc(gl.ALWAYS, 0, 0xff);
    gl.stencilOpSeparate(gl.FRONT, gl.KEEP, gl.KEEP, gl.DECR_WRAP);
    gl.stencilOpSeparate(gl.BACK, gl.KEEP, gl.KEEP, gl.INCR_WRAP);
    again();
    gl.colorMask(true, true, true, true);
    gl.enable(gl.DEPTH_TEST);
    gl.stencilFunc(gl.NOTEQUAL, 0, 0xff);
    gl.stencilOp(gl.KEEP, gl.KEEP, gl.KEEP);
    const { program, uniforms: u } = this.section;
    gl.useProgram(program);
    gl.uniformMatrix4fv(u.view, false, view);
    gl.uniform3fv(u.open, colour(shade.open));
    gl.uniform1f(u.pixel, this.ratio);
    gl.bindVertexArray(null);
    gl.bindBuffer(gl.ARRAY_BUFFER, this.sectionBuffer);
    gl.bufferData(gl.ARRAY_BUFFER, planeOver(scene.cut, scene.min, scene.max), gl.DYNAMIC_DRAW);
    attribute(gl, 0, 3, 12, 0);
    gl.drawArrays(gl.TRIANGLE_STRIP, 0, 4);
    gl.disable(gl.STENCIL_TEST);
  }
}

// crossing lists the segments in which a plane square to an axis meets the
// triangles of a mesh.
function crossing(m, cut) {
  const axis = [0, 1, 2].find((i) => cut[i] !== 0), level = cut[3] * cut[axis];
  const p = m.points, out = [];
  for (let t = 0; t < m.index.length; t += 3) {
    let found = 0;
    const at = [];
    for (let e = 0; e < 3; e++) {
      const a = 3 * m.index[t + e], b = 3 * m.index[t + ((e + 1) % 3)];
      const da = p[a + axis] - level, db = p[b + axis] - level;
      if (da < 0 === db < 0) continue;
      const k = da / (da - db);
      for (let i = 0; i < 3; i++) at.push(p[a + i] + k * (p[b + i] - p[a + i]));
      found++;
    }
    if (found === 2) out.push(...at);
  }
  return out;
}

// planeOver is the part of a plane square to an axis that covers a box.
function planeOver(cut, min, max) {
  const axis = [0, 1, 2].find((i) => cut[i] !== 0), u = (axis + 1) % 3, v = (axis + 2) % 3;
  const out = [];
  for (const [a, b] of [[min[u], min[v]], [max[u], min[v]], [min[u], max[v]], [max[u], max[v]]]) {
    const p = [0, 0, 0];
    p[axis] = cut[3] * cut[axis];
    p[u] = a;
    p[v] = b;
    out.push(...p);
  }
  return new Float32Array(out);
}

function unit3(axes, r, u, a) {
  const v = [0, 1, 2].map((i) => axes.right[i] * r + axes.up[i] * u + axes.away[i] * a);
  const l = Math.hypot(...v);
  return v.map((x) => x / l);
}

function attribute(gl, at, n, stride, offset) {
  gl.enableVertexAttribArray(at);
  gl.vertexAttribPointer(at, n, gl.FLOAT, false, stride, offset);
}

function program(gl, vertex, fragment) {
  const p = gl.createProgram();
  for (const [kind, text] of [[gl.VERTEX_SHADER, vertex], [gl.FRAGMENT_SHADER, fragment]]) {
    const s = gl.createShader(kind);
    gl.shaderSource(s, text);
    gl.compileShader(s);
    if (!gl.getShaderParameter(s, gl.COMPILE_STATUS)) throw new Error(gl.getShaderInfoLog(s));
    gl.attachShader(p, s);
  }
  gl.linkProgram(p);
  if (!gl.getProgramParameter(p, gl.LINK_STATUS)) throw new Error(gl.getProgramInfoLog(p));
  const uniforms = {};
  for (let i = 0; i < gl.getProgramParameter(p, gl.ACTIVE_UNIFORMS); i++) {
    const { name } = gl.getActiveUniform(p, i);
    uniforms[name] = gl.getUniformLocation(p, name);
  }
  return { program: p, uniforms };
}
