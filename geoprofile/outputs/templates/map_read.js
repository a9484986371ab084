// Reading: from a place on the map to the survey's own coordinates, cells, polygons and pits.

var data = JSON.parse(document.getElementById("survey-data").textContent);
var map = window.map_survey;
var RADIUS = 6378137;
var pits = data.pits, words = pits.words, sayings = pits.attributes.sayings;
var grids = data.grids, lattice = data.frame ? data.frame.lattice : null;
var cells = {}; // raster key -> Uint8Array or Uint16Array, 0 = nothing there

function bytesOf(base64) {
  var text = atob(base64), bytes = new Uint8Array(text.length);
  for (var k = 0; k < text.length; k++) bytes[k] = text.charCodeAt(k);
  return bytes;
}

// Undo: base64, deflate, byte planes, differences along rows.
function unpack(key) {
  var raster = data.rasters[key], grid = grids[raster.grid], count = grid.height * grid.width;
  var stream = new Blob([bytesOf(raster.data)]).stream().pipeThrough(new DecompressionStream("deflate"));
  return new Response(stream).arrayBuffer().then(function (buffer) {
    var bytes = new Uint8Array(buffer), wide = raster.bits === 16;
    var values = wide ? new Uint16Array(count) : new Uint8Array(count);
    for (var row = 0, k = 0; row < grid.height; row++) {
      var sum = 0;
      for (var column = 0; column < grid.width; column++, k++) {
        sum += wide ? bytes[k] + 256 * bytes[count + k] : bytes[k];
        values[k] = sum; // wraps as it was wrapped when it was written
        sum = values[k];
      }
    }
    cells[key] = values;
    delete raster.data;
  });
}

// Mercator metres to the survey's system: bilinear between the nodes of the lattice.
function surveyOf(mx, my) {
  var across = (mx - lattice.west) / lattice.step_x, up = (my - lattice.south) / lattice.step_y;
  var column = Math.max(0, Math.min(lattice.columns - 2, Math.floor(across)));
  var row = Math.max(0, Math.min(lattice.rows - 2, Math.floor(up)));
  var a = across - column, b = up - row, k = row * lattice.columns + column, above = k + lattice.columns;
  function at(node) {
    return (1 - b) * ((1 - a) * node[k] + a * node[k + 1]) + b * ((1 - a) * node[above] + a * node[above + 1]);
  }
  return { x: at(lattice.x), y: at(lattice.y) };
}

function placeOf(latlng) {
  var point = L.CRS.EPSG3857.project(latlng);
  return surveyOf(point.x, point.y);
}

// How large the cells are that the page shows, and how large those of the files where they are smaller.
function cellText(key) {
  var grid = grids[data.rasters[key].grid];
  return "cells of " + metres(grid.cell_m) + (grid.factor > 1 ? ", of " + metres(grid.cell_m / grid.factor) + " in the files" : "");
}

function metres(length) { return Number(length.toPrecision(6)) + "\u00a0m"; }

function spaced(number) {
  return number < 1000 ? String(number) : String(number).replace(/\B(?=(\d{3})+$)/g, "\u2009");
}

function cellValue(key, place) {
  var raster = data.rasters[key];
  if (!raster || !cells[key]) return null;
  var grid = grids[raster.grid];
  var column = Math.floor((place.x - grid.west) / grid.cell_m), row = Math.floor((grid.north - place.y) / grid.cell_m);
  if (row < 0 || column < 0 || row >= grid.height || column >= grid.width) return null;
  var cell = cells[key][row * grid.width + column];
  return cell ? numberOf(raster, cell) : null;
}

function numberOf(raster, cell) {
  return Number(((raster.offset + cell - 1) * raster.step).toFixed(raster.decimals));
}

function classOf(part, value) {
  if (value === null) return null;
  return part.legend.find(function (row) {
    return row.code !== undefined ? row.code === value : row.below === null || value < row.below;
  }) || null;
}

// Everything that is known at a place; the tests and other pages may call it as geoprofileRead(lat, lon).
function readAt(latlng) {
  if (!lattice) return null;
  var place = placeOf(latlng);
  var reading = { x: place.x, y: place.y, surfaces: [], classes: [], terrain: [], polygons: [], pits: nearestPits(place, 5) };
  data.groups.forEach(function (group) {
    if (group.kind === "terrain") {
      group.parts.forEach(function (part) {
        var value = cellValue(part.raster, place), found = classOf(part, value);
        reading.terrain.push({ name: part.part, label: part.label, unit: part.unit, value: value,
          text: value === null ? "" : found && found.code !== undefined ? found.label : withUnit(value, part.unit) });
      });
      return;
    }
    if (group.kind === "classes") {
      reading.classes.push(classesAt(group, place));
      return;
    }
    var said = { group: group, name: group.name, title: group.title, unit: group.unit, estimate: null, low90: null, high90: null,
      presence: null, reliability: null, reason: "", below: [], above: [], values: {} };
    group.parts.forEach(function (part) {
      var value = cellValue(part.raster, place);
      said.values[part.raster] = value;
      if (part.part === "below" || part.part === "above") said[part.part].push({ label: part.label, value: value });
      else said[part.part] = value;
      if (part.part === "reliability" && value !== null) said.reason = (classOf(part, value) || { label: "" }).label;
    });
    reading.surfaces.push(said);
  });
  data.vectors.forEach(function (layer) {
    layer.features.forEach(function (feature) {
      if (feature.closed && layer.name !== "area" && feature.paths.some(function (part) { return isInside(part, latlng); })) {
        reading.polygons.push({ layer: layer, feature: feature });
      }
    });
  });
  return reading;
}

// The most probable class, and every class that has a probability there, the likeliest first.
function classesAt(group, place) {
  var said = { group: group, name: group.name, title: group.title, most: null, probability: null, each: [], values: {} };
  group.parts.forEach(function (part) {
    var value = cellValue(part.raster, place);
    said.values[part.raster] = value;
    if (part.part === "class" && value !== null) said.most = classOf(part, value).label;
    if (part.part === "class_probability") said.probability = value;
    if (part.part === "each" && value !== null) said.each.push({ label: part["class"], value: value, colour: colourOfClass(group, part["class"]) });
  });
  said.each.sort(function (a, b) { return b.value - a.value; });
  return said;
}

function colourOfClass(group, label) {
  var rows = group.parts[0].legend;
  return (rows.find(function (row) { return row.label === label; }) || rows.find(function (row) { return row.label === "other classes"; }) || { colour: "#ffffff" }).colour;
}

// Even-odd over all rings of a part; rings are flat latitude, longitude, latitude ...
function isInside(rings, latlng) {
  var inside = false;
  rings.forEach(function (ring) {
    var n = ring.length;
    for (var i = 0, j = n - 2; i < n; j = i, i += 2) {
      if ((ring[i] > latlng.lat) !== (ring[j] > latlng.lat) &&
          latlng.lng < (ring[j + 1] - ring[i + 1]) * (latlng.lat - ring[i]) / (ring[j] - ring[i]) + ring[i + 1]) inside = !inside;
    }
  });
  return inside;
}

// Indices of pits with a place, one a marker, and the visits that share it.
var visits = {}, markers = [], unplaced = [];
pits.id.forEach(function (id, k) {
  var place = pits.place[k];
  if (place < 0) { unplaced.push(k); return; }
  if (!visits[place]) { visits[place] = []; markers.push(place); }
  visits[place].push(k);
});

function nearestPits(place, count) {
  return markers.map(function (k) {
    return { pit: k, distance: Math.hypot(pits.x[k] - place.x, pits.y[k] - place.y) };
  }).sort(function (a, b) { return a.distance - b.distance || a.pit - b.pit; }).slice(0, count);
}

var attributes = {};
pits.attributes.list.forEach(function (attribute) { attributes[attribute.name] = attribute; });

// What a pit says of an attribute, or null where it has no row.
function sayingOf(pit, name) {
  var attribute = attributes[name], k = attribute ? attribute.cells[pit] : -1;
  if (k === undefined || k < 0) return null;
  var saying = sayings[k];
  return { text: saying[0], status: saying[1], low: saying[2], high: saying[3], presence: saying[4],
    evidence: words[saying[5]], flags: words[saying[6]], unit: attribute.unit };
}

var dates = pits.fields.find(function (field) { return field.name === "date" && field.text; });
function dateOf(pit) { return dates ? words[dates.cells[pit]] : ""; }

// At one place the latest visit that is not silent.
function sayingAtPlace(place, name) {
  var found = null, order = visits[place];
  if (order.length > 1) order = order.slice().sort(function (a, b) { return dateOf(b) < dateOf(a) ? -1 : dateOf(b) > dateOf(a) ? 1 : a - b; });
  order.some(function (pit) {
    var saying = sayingOf(pit, name);
    if (saying && (!found || found.status === "unknown")) found = saying;
    return found && found.status !== "unknown";
  });
  return found;
}

function saidText(saying) {
  return saying.status === "unknown" ? "not described" : withUnit(saying.text, saying.unit);
}

// No line break between a number and its per cent sign.
function tight(text) { return text.replace(/(\d) %/g, "$1\u00a0%"); }

function withUnit(text, unit) {
  if (text === null || text === undefined || text === "") return "";
  text = String(text);
  return unit && /\d/.test(text) ? text + "\u00a0" + unit : text;
}
