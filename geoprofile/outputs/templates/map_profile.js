// A pit's profile drawn to depth: colours as described, boundaries as described, open where nothing was seen.

var SVG = "http://www.w3.org/2000/svg";

function draw(name, attributes, parent, text) {
  var node = document.createElementNS(SVG, name);
  Object.keys(attributes || {}).forEach(function (key) { node.setAttribute(key, attributes[key]); });
  if (text !== undefined) node.textContent = text;
  if (parent) parent.appendChild(node);
  return node;
}

function horizonsOf(pit) {
  var columns = pits.horizons.columns, rows = [];
  columns.pit.forEach(function (owner, k) {
    if (owner !== pit) return;
    var row = {};
    Object.keys(columns).forEach(function (name) {
      row[name] = pits.horizons.text.indexOf(name) >= 0 ? words[columns[name][k]] : columns[name][k];
    });
    rows.push(row);
  });
  return rows;
}

function hasDepth(value) { return value !== null && value !== undefined; }

var LINES = { abrupt: [2.2, ""], clear: [1.4, ""], gradual: [1.2, "5 4"], diffuse: [1.2, "1.5 4"] };

function drawProfile(pit) {
  var rows = horizonsOf(pit).filter(function (row) { return hasDepth(row.upper_cm); });
  if (!rows.length) return null;
  var seen = fieldNumber(pit, "observed_to_cm"), top = 0, bottom = 0;
  rows.forEach(function (row) {
    row.open = !hasDepth(row.lower_cm);
    row.base = row.open ? Math.max(row.upper_cm + 12, hasDepth(seen) ? seen : 0) : row.lower_cm;
    top = Math.min(top, row.upper_cm, row.base);
    bottom = Math.max(bottom, row.base, hasDepth(row.lower_high_cm) ? row.lower_high_cm : 0);
  });
  bottom = Math.max(bottom, top + 10);
  var scale = Math.max(1.4, Math.min(7, 330 / (bottom - top))), margin = 24, left = 42, width = 112, right = left + width;
  var dryStrip = rows.some(function (row) { return pits.horizons.colours[row.colour_dry] && pits.horizons.colours[row.colour_moist]; }) ? 18 : 0;
  var labels = right + dryStrip + 20;
  function down(depth) { return margin + (depth - top) * scale; }
  var place = 0;
  rows.forEach(function (row) { // labels never lie on each other
    row.lines = describe(row);
    row.need = 16 + 14 * row.lines.length;
    var middle = down((row.upper_cm + row.base) / 2) - row.need / 2 + 4;
    row.label = Math.max(middle, place);
    place = row.label + row.need;
  });
  var height = Math.max(down(bottom) + 34, place + 8);
  var svg = draw("svg", { viewBox: "0 0 360 " + Math.ceil(height), "class": "profile", role: "img",
    "aria-label": "Profile: " + rows.map(function (row) { return (row.designation || "horizon") + " " + depthText(row); }).join(", ") });
  var defs = draw("defs", {}, svg), hatch = draw("pattern", { id: "no-colour", width: 8, height: 8, patternUnits: "userSpaceOnUse", patternTransform: "rotate(45)" }, defs);
  draw("rect", { width: 8, height: 8, fill: "#f4f1ea" }, hatch);
  draw("line", { x1: 0, y1: 0, x2: 0, y2: 8, stroke: "#b9b4a7", "stroke-width": 2 }, hatch);
  axis(svg, top, bottom, down, left);

  var above = null, previous = null;
  rows.forEach(function (row, number) {
    var shared = previous && Math.abs(previous.base - row.upper_cm) < 0.1 && !previous.open;
    var upper = shared ? above : edge(row.upper_cm, "", 0, down, null);
    var lower = lowerEdge(row, upper, down, number === rows.length - 1);
    var points = upper.concat(lower.slice().reverse()).map(function (p) { return (left + p[0] * width).toFixed(1) + "," + p[1].toFixed(1); }).join(" ");
    var moist = pits.horizons.colours[row.colour_moist], dry = pits.horizons.colours[row.colour_dry];
    draw("polygon", { points: points, fill: moist || dry || "url(#no-colour)" }, svg);
    if (dryStrip && dry && moist) {
      draw("rect", { x: right + 5, y: down(row.upper_cm), width: dryStrip - 7, height: Math.max(1, down(row.base) - down(row.upper_cm)), fill: dry }, svg);
    }
    var style = LINES[row.boundary_distinctness] || [1.2, ""];
    var torn = row.open || (row.lower_is_end && number === rows.length - 1);
    if (!torn) {
      draw("polyline", { points: lower.map(function (p) { return (left + p[0] * width).toFixed(1) + "," + p[1].toFixed(1); }).join(" "),
        fill: "none", stroke: "#1d2527", "stroke-width": style[0], "stroke-dasharray": row.boundary_form === "broken" ? "7 5" : style[1] }, svg);
    }
    var anchor = row.label + row.need / 2 - 4, middle = down((row.upper_cm + row.base) / 2);
    draw("polyline", { points: [right + dryStrip + 3, middle, right + dryStrip + 11, middle, labels - 5, anchor].join(" "), fill: "none", stroke: "#8f897b", "stroke-width": 1 }, svg);
    draw("text", { x: labels, y: row.label + 12, "class": "designation" }, svg, row.designation || "not named");
    draw("text", { x: 358, y: row.label + 12, "class": "depths" }, svg, depthText(row));
    row.lines.forEach(function (line, k) { draw("text", { x: labels, y: row.label + 26 + 14 * k, "class": "detail" }, svg, line); });
    above = lower;
    previous = row;
  });
  draw("line", { x1: left, x2: right, y1: down(rows[0].upper_cm), y2: down(rows[0].upper_cm), stroke: "#1d2527", "stroke-width": 2 }, svg);
  draw("path", { d: "M" + left + " " + down(rows[0].upper_cm) + "V" + down(bottom) + "M" + right + " " + down(rows[0].upper_cm) + "V" + down(bottom), stroke: "#1d2527", "stroke-width": 1.2 }, svg);
  var last = rows[rows.length - 1];
  if (last.open || last.lower_is_end) {
    draw("text", { x: left + width / 2, y: down(bottom) + 22, "class": "below" }, svg, "not seen below");
  }
  return svg;
}

function axis(svg, top, bottom, down, left) {
  var step = bottom - top > 160 ? 20 : 10;
  draw("text", { x: left - 8, y: 12, "class": "tick" }, svg, "cm");
  for (var depth = Math.ceil(top / step) * step; depth <= bottom; depth += step) {
    draw("line", { x1: left - 6, x2: left, y1: down(depth), y2: down(depth), stroke: "#5b6668" }, svg);
    if (depth % (2 * step) === 0) draw("text", { x: left - 9, y: down(depth) + 4, "class": "tick" }, svg, depth);
  }
}

// 41 points across the column; ``from`` is the edge above, which no point may cross.
function edge(depth, form, swing, down, from) {
  var points = [];
  for (var k = 0; k <= 40; k++) {
    var t = k / 40, at = depth;
    if (form === "wavy") at += swing * Math.sin(2 * Math.PI * (2 * t + 0.1));
    if (form === "irregular") at += swing * (Math.sin(2 * Math.PI * (3 * t + 0.2)) + 0.5 * Math.sin(2 * Math.PI * 7 * t)) / 1.3;
    if (form === "broken") at += swing * Math.sin(2 * Math.PI * (1.5 * t + 0.15));
    if (form === "torn") at += swing * (k % 4 === 0 ? 1 : k % 4 === 2 ? -1 : 0);
    points.push([t, from ? Math.max(down(at), from[k][1]) : down(at)]);
  }
  return points;
}

function lowerEdge(row, upper, down, isLast) {
  if (row.open || (row.lower_is_end && isLast)) return edge(row.base, "torn", 1.2, down, upper);
  var low = row.lower_low_cm, high = row.lower_high_cm, form = row.boundary_form || "";
  var ranged = hasDepth(low) && hasDepth(high) && high > low;
  var thickness = Math.max(0, row.base - row.upper_cm);
  if (form === "broken") return edge(row.upper_cm + thickness * 0.45, form, Math.max(thickness * 0.75, 1.5), down, upper); // pockets between gaps
  if (!form && ranged) form = "wavy";
  var swing = ranged ? (high - low) / 2 : form === "irregular" ? 3 : form === "wavy" ? 1.5 : 0;
  return edge(ranged ? (low + high) / 2 : row.base, /wavy|irregular/.test(form) ? form : "", Math.min(swing, Math.max(thickness, 1)), down, upper);
}

function depthText(row) {
  var text = row.upper_cm + "\u2013";
  return row.open ? "from " + row.upper_cm : text + row.lower_cm;
}

// As much of a line as fits beside the profile, measured in the font it is drawn in.
var DETAIL_PX = 178, ruler = document.createElement("canvas").getContext("2d");
function shortened(line) {
  ruler.font = "11px " + getComputedStyle(document.body).fontFamily;
  if (ruler.measureText(line).width <= DETAIL_PX) return line;
  while (line && ruler.measureText(line + "\u2026").width > DETAIL_PX) line = line.slice(0, -1);
  return line.replace(/[\s\u00b7,]+$/, "") + "\u2026";
}

function describe(row) {
  var first = [row.texture, row.colour_moist || (row.colour_dry ? row.colour_dry + " (dry)" : "")].filter(Boolean).join(" \u00b7 ");
  var structure = [row.structure_grade, row.structure_size, row.structure_kind].filter(Boolean).join(" ");
  var acid = row.effervescence ? "acid: " + row.effervescence : "";
  var mottles = row.mottles && row.mottles !== "none" ? "mottles: " + row.mottles : "";
  var second = [structure, acid, mottles].filter(Boolean).join(" \u00b7 ");
  return [first, second].filter(Boolean).map(shortened);
}
