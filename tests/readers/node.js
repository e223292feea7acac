// node node.js READER FILE.dxf: what one of npm's readers makes of a DXF, as JSON: {unit, shapes, circles}
"use strict";
const fs = require("fs");
const path = require("path");
const { createRequire } = require("module");

const [reader, file] = process.argv.slice(2);
const from = createRequire(path.join(process.env.NODE_READERS, "x.js"));
const text = fs.readFileSync(file, "utf8");
const out = { unit: null, shapes: [], circles: [] };

const corners = (vs) => vs.map((v) => [v.x, v.y, v.bulge || 0]);
const arc = (e, x, y, r) => out.shapes.push({ layer: e.layer, arc: [x, y, r, e.startAngle, e.endAngle], closed: false });

if (reader === "dxf-parser") {
  const found = from("dxf-parser");
  const Parser = found.DxfParser || found.default || found;
  const dxf = new Parser().parseSync(text);
  out.unit = dxf.header.$INSUNITS;
  for (const e of dxf.entities) {
    if (e.type === "LWPOLYLINE" || e.type === "POLYLINE") {
      out.shapes.push({ layer: e.layer, corners: corners(e.vertices), closed: Boolean(e.shape) });
    } else if (e.type === "LINE") {
      out.shapes.push({ layer: e.layer, corners: corners(e.vertices), closed: false });
    } else if (e.type === "ARC") {
      arc(e, e.center.x, e.center.y, e.radius);
    } else if (e.type === "CIRCLE") {
      out.circles.push([e.layer, e.radius]);
    }
  }
} else {
  const { Helper } = from("dxf");
  const dxf = new Helper(text).parsed;
  out.unit = dxf.header.insUnits;
  for (const e of dxf.entities) {
    if (e.type === "LWPOLYLINE" || e.type === "POLYLINE") {
      out.shapes.push({ layer: e.layer, corners: corners(e.vertices), closed: Boolean(e.closed) });
    } else if (e.type === "LINE") {
      out.shapes.push({ layer: e.layer, corners: corners([e.start, e.end]), closed: false });
    } else if (e.type === "ARC") {
      arc(e, e.x, e.y, e.r);
    } else if (e.type === "CIRCLE") {
      out.circles.push([e.layer, e.r]);
    }
  }
}
process.stdout.write(JSON.stringify(out));
