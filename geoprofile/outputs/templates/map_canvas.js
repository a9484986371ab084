// Drawing: cells at their true place, relief, and pits, each on one canvas that covers the view.

var ViewCanvas = L.Layer.extend({
  initialize: function (pane) { this.paneName = pane; this.opacity = 1; },
  onAdd: function (map) {
    this.canvas = L.DomUtil.create("canvas", "leaflet-zoom-animated", map.getPane(this.paneName));
    this.canvas.style.opacity = this.opacity;
    this.update();
  },
  onRemove: function () { L.DomUtil.remove(this.canvas); },
  getEvents: function () { return { moveend: this.update, viewreset: this.update, zoomanim: this.animate }; },
  setOpacity: function (opacity) {
    this.opacity = opacity;
    if (this.canvas) this.canvas.style.opacity = opacity;
  },
  update: function () {
    if (!this._map) return;
    var size = this._map.getSize(), pad = Math.round(0.2 * Math.max(size.x, size.y));
    var ratio = Math.min(window.devicePixelRatio || 1, 2);
    var corner = this._map.containerPointToLayerPoint([-pad, -pad]).round();
    var width = size.x + 2 * pad, height = size.y + 2 * pad;
    if (!size.x || !size.y) return;
    this.canvas.width = Math.round(width * ratio);
    this.canvas.height = Math.round(height * ratio);
    this.canvas.style.width = width + "px";
    this.canvas.style.height = height + "px";
    L.DomUtil.setPosition(this.canvas, corner);
    this.corner = this._map.layerPointToLatLng(corner);
    this.zoom = this._map.getZoom();
    this.draw(this.canvas.getContext("2d"), corner, ratio);
  },
  animate: function (event) {
    var scale = this._map.getZoomScale(event.zoom, this.zoom);
    L.DomUtil.setTransform(this.canvas, this._map._latLngToNewLayerPoint(this.corner, event.zoom, event.center), scale);
  },
  // Calls visit(k, x, y) with the survey's coordinates of the middle of each pixel.
  eachPixel: function (corner, ratio, visit) {
    var width = this.canvas.width, height = this.canvas.height, columns = lattice.columns;
    var origin = this._map.getPixelOrigin(), world = L.CRS.EPSG3857.scale(this.zoom), round = 2 * Math.PI * RADIUS;
    var step = round / world / ratio;
    var mx = ((origin.x + corner.x) / world - 0.5) * round + step / 2;
    var my = (0.5 - (origin.y + corner.y) / world) * round - step / 2;
    var x = new Float64Array(columns), y = new Float64Array(columns);
    for (var i = 0, k = 0; i < height; i++) {
      var up = (my - i * step - lattice.south) / lattice.step_y;
      var row = Math.max(0, Math.min(lattice.rows - 2, Math.floor(up))), b = up - row;
      for (var c = 0; c < columns; c++) {
        var n = row * columns + c;
        x[c] = (1 - b) * lattice.x[n] + b * lattice.x[n + columns];
        y[c] = (1 - b) * lattice.y[n] + b * lattice.y[n + columns];
      }
      for (var j = 0; j < width; j++, k++) {
        var across = (mx + j * step - lattice.west) / lattice.step_x;
        var column = Math.max(0, Math.min(columns - 2, Math.floor(across))), a = across - column;
        visit(k, x[column] + a * (x[column + 1] - x[column]), y[column] + a * (y[column + 1] - y[column]));
      }
    }
  }
});

function rgb(colour) {
  return [1, 3, 5].map(function (k) { return parseInt(colour.slice(k, k + 2), 16); });
}

// One cell, one colour, no smoothing: what is seen is what a click reads.
var CellLayer = ViewCanvas.extend({
  show: function (part) {
    this.part = part;
    if (this._map) this.update();
  },
  draw: function (context, corner, ratio) {
    var part = this.part, values = part && cells[part.raster];
    if (!values || !lattice) return;
    var raster = data.rasters[part.raster], grid = grids[raster.grid], inverse = 1 / grid.cell_m;
    var colours = new Uint8Array(4 * (raster.bits === 16 ? 65536 : 256));
    for (var v = 1; v < colours.length / 4; v++) {
      var row = classOf(part, numberOf(raster, v));
      if (row) colours.set(rgb(row.colour).concat(255), 4 * v);
      if (row && row === part.legend[part.legend.length - 1] && row.code === undefined) { // the rest is the last class
        for (var last = v + 1; last < colours.length / 4; last++) colours.copyWithin(4 * last, 4 * v, 4 * v + 4);
        break;
      }
    }
    var table = new Uint32Array(colours.buffer);
    var image = context.createImageData(this.canvas.width, this.canvas.height), pixels = new Uint32Array(image.data.buffer);
    this.eachPixel(corner, ratio, function (k, x, y) {
      var column = Math.floor((x - grid.west) * inverse), row = Math.floor((grid.north - y) * inverse);
      if (row >= 0 && column >= 0 && row < grid.height && column < grid.width) pixels[k] = table[values[row * grid.width + column]];
    });
    context.putImageData(image, 0, 0);
  }
});

// The shading of the survey's own elevation, smooth between cell centres.
var ReliefLayer = ViewCanvas.extend({
  draw: function (context, corner, ratio) {
    var values = cells[data.relief.raster];
    if (!values) return;
    var grid = grids[data.rasters[data.relief.raster].grid], inverse = 1 / grid.cell_m, width = grid.width, height = grid.height;
    var bytes = new Uint8Array(4 * 256), dark = [88, 98, 110], level = [239, 235, 226], light = [255, 254, 250], flat = data.relief.flat;
    for (var v = 1; v < 256; v++) {
      var t = Math.min(1, v <= flat ? v / flat : (v - flat) / (data.relief.light - flat)), low = v <= flat ? dark : level, high = v <= flat ? level : light;
      bytes.set([0, 1, 2].map(function (c) { return low[c] + t * (high[c] - low[c]); }).concat(255), 4 * v);
    }
    var table = new Uint32Array(bytes.buffer);
    var image = context.createImageData(this.canvas.width, this.canvas.height), pixels = new Uint32Array(image.data.buffer);
    this.eachPixel(corner, ratio, function (k, x, y) {
      var across = (x - grid.west) * inverse, down = (grid.north - y) * inverse;
      if (across < 0 || down < 0 || across >= width || down >= height) return;
      var own = values[Math.floor(down) * width + Math.floor(across)];
      if (!own) return;
      across = Math.max(0, Math.min(width - 1.001, across - 0.5));
      down = Math.max(0, Math.min(height - 1.001, down - 0.5));
      var column = Math.floor(across), row = Math.floor(down), a = across - column, b = down - row, n = row * width + column;
      var nw = values[n] || own, ne = values[n + 1] || own, sw = values[n + width] || own, se = values[n + width + 1] || own;
      pixels[k] = table[Math.round((1 - b) * ((1 - a) * nw + a * ne) + b * ((1 - a) * sw + a * se))];
    });
    context.putImageData(image, 0, 0);
  }
});

// Pits: the shape says how the value is known, the colour what it is.
var SHAPES = { measured: "circle", between: "circle", at_surface: "circle", at_least: "down", at_most: "up", absent: "absent", unknown: "small" };

function tracePit(context, shape, x, y, r) {
  context.beginPath();
  if (shape === "down" || shape === "up") {
    var s = shape === "down" ? 1 : -1;
    context.moveTo(x - 1.15 * r, y - s * 0.75 * r);
    context.lineTo(x + 1.15 * r, y - s * 0.75 * r);
    context.lineTo(x, y + s * 1.2 * r);
    context.closePath();
  } else context.arc(x, y, shape === "small" ? 0.6 * r : r, 0, 2 * Math.PI);
}

function drawPit(context, shape, colour, x, y, r) {
  context.lineJoin = "round";
  tracePit(context, shape, x, y, r);
  context.lineWidth = r < 5 ? 3.6 : 5;
  context.strokeStyle = "#ffffff";
  context.stroke();
  context.fillStyle = shape === "small" || shape === "absent" ? "#ffffff" : colour;
  context.fill();
  context.lineWidth = r < 5 ? 1.3 : 1.8;
  context.strokeStyle = "#1d2527";
  context.stroke();
  if (shape === "absent") {
    context.beginPath();
    context.moveTo(x - 0.6 * r, y + 0.6 * r);
    context.lineTo(x + 0.6 * r, y - 0.6 * r);
    context.stroke();
  }
}

var PitLayer = ViewCanvas.extend({
  draw: function (context, corner, ratio) {
    context.setTransform(ratio, 0, 0, ratio, 0, 0);
    context.clearRect(0, 0, this.canvas.width, this.canvas.height);
    var self = this, width = this.canvas.width / ratio, height = this.canvas.height / ratio;
    var spots = [];
    markers.forEach(function (k) {
      var point = self._map.latLngToLayerPoint([pits.lat[k], pits.lon[k]]).subtract(corner);
      if (point.x < -20 || point.y < -20 || point.x > width + 20 || point.y > height + 20) return;
      spots.push({ pit: k, x: point.x, y: point.y });
    });
    // Markers shrink where pits stand close, so that they do not hide each other.
    var inView = spots.filter(function (spot) { return spot.x > 0 && spot.y > 0 && spot.x < width && spot.y < height; });
    var xs = inView.map(function (spot) { return spot.x; }), ys = inView.map(function (spot) { return spot.y; });
    var room = inView.length < 2 ? 100 : Math.sqrt((Math.max.apply(null, xs) - Math.min.apply(null, xs)) * (Math.max.apply(null, ys) - Math.min.apply(null, ys)) / inView.length);
    var r = Math.max(3.6, Math.min(6.5, 0.2 * room));
    spots.forEach(function (spot) {
      var saying = state.attribute ? sayingAtPlace(spot.pit, state.attribute) : null;
      spot.saying = saying;
      var noted = notedAt(spot.pit);
      if (noted !== null) drawPit(context, noted ? "circle" : "small", colourOfClass(activeGroup(), noted), spot.x, spot.y, r);
      else drawPit(context, state.attribute ? SHAPES[saying ? saying.status : "unknown"] : "circle", pitColour(saying), spot.x, spot.y, r);
      if (visits[spot.pit].length > 1) badge(context, visits[spot.pit].length, spot.x + r, spot.y - r);
      if (state.pit !== null && pits.place[state.pit] === spot.pit) {
        context.beginPath();
        context.arc(spot.x, spot.y, r + 6, 0, 2 * Math.PI);
        context.lineWidth = 3;
        context.strokeStyle = "#a03c0f";
        context.stroke();
      }
    });
    this.label(context, spots, r);
  },
  // Labels where they fit; none lies on another or on a pit.
  label: function (context, spots, r) {
    var taken = [];
    context.font = "600 12px system-ui, sans-serif";
    context.textBaseline = "middle";
    if (spots.length > 1500) return;
    spots.forEach(function (spot) {
      var text = state.attribute ? (spot.saying && /\d/.test(spot.saying.text) ? spot.saying.text : "") : pits.id[spot.pit];
      if (!text) return;
      if (text.length > 24) text = text.slice(0, 23) + "\u2026";
      var width = context.measureText(text).width, x = spot.x + r + 5, y = spot.y;
      var box = [x - 2, y - 8, x + width + 2, y + 8];
      if (taken.some(function (other) { return box[0] < other[2] && box[2] > other[0] && box[1] < other[3] && box[3] > other[1]; })) return;
      if (spots.some(function (other) { return other !== spot && other.x > box[0] - r && other.x < box[2] + r && other.y > box[1] - r && other.y < box[3] + r; })) return;
      taken.push(box);
      context.lineWidth = 3.5;
      context.lineJoin = "round";
      context.strokeStyle = "rgba(255,255,255,0.92)";
      context.strokeText(text, x, y);
      context.fillStyle = "#1d2527";
      context.fillText(text, x, y);
    });
  }
});

// Names of the polygons that are shown.
var NameLayer = ViewCanvas.extend({
  draw: function (context, corner, ratio) {
    var self = this;
    context.setTransform(ratio, 0, 0, ratio, 0, 0);
    context.clearRect(0, 0, this.canvas.width, this.canvas.height);
    context.textAlign = "center";
    context.textBaseline = "middle";
    context.lineJoin = "round";
    context.font = "italic 14px Georgia, serif";
    var taken = [], spots = state.vectors.pits ? markers.slice(0, 2000).map(function (k) { return self._map.latLngToLayerPoint([pits.lat[k], pits.lon[k]]).subtract(corner); }) : [];
    data.vectors.forEach(function (layer) {
      if (!state.vectors[layer.name] || layer.name === "area" || layer.features.length > 400) return;
      layer.features.forEach(function (feature) {
        if (!feature.label || !feature.name) return;
        if (layer.legend.length && feature.paths.length > 3) return; // scattered pieces: one name would point at one of them
        var at = self._map.latLngToLayerPoint(feature.label).subtract(corner);
        var text = feature.name.length > 28 ? feature.name.slice(0, 27) + "\u2026" : feature.name;
        var half = context.measureText(text).width / 2 + 3;
        // The name of a line may stand beside it; that of an area stays near its middle.
        var shifts = [0, 17, -17, 34, -34].map(function (up) { return [0, up]; });
        if (!feature.closed) shifts = shifts.concat([20, -20].reduce(function (more, up) {
          return more.concat([half, -half, 2 * half, -2 * half].map(function (across) { return [across, up]; }));
        }, []));
        var free = shifts.map(function (shift) { return L.point(at.x + shift[0], at.y + shift[1]); }).filter(function (to) {
          return !taken.some(function (box) { return Math.abs(box.y - to.y) < 16 && Math.abs(box.x - to.x) < box.half + half; });
        });
        at = feature.closed ? free[0] : free.find(function (to) { // where no pit stands on it, if there is such a place
          return !spots.some(function (spot) { return Math.abs(spot.y - to.y) < 15 && Math.abs(spot.x - to.x) < half + 7; });
        }) || free[0];
        if (!at) return;
        taken.push({ x: at.x, y: at.y, half: half });
        context.lineWidth = 4;
        context.strokeStyle = "rgba(255,255,255,0.92)";
        context.strokeText(text, at.x, at.y);
        context.fillStyle = (STYLES[layer.name] || STYLES.parcels).color;
        context.fillText(text, at.x, at.y);
      });
    });
  }
});

function badge(context, count, x, y) {
  context.beginPath();
  context.arc(x, y, 7, 0, 2 * Math.PI);
  context.fillStyle = "#1d2527";
  context.fill();
  context.fillStyle = "#ffffff";
  context.font = "700 9px system-ui, sans-serif";
  context.textAlign = "center";
  context.textBaseline = "middle";
  context.fillText(String(count), x, y + 0.5);
  context.textAlign = "start";
}

// The class that was noted at a place, "" where none was; null where no classes are shown.
function notedAt(place) {
  var group = activeGroup();
  if (!group || group.kind !== "classes") return null;
  return visits[place].map(function (pit) { return fieldText(pit, group.name); }).filter(Boolean).pop() || "";
}

function pitColour(saying) {
  if (!state.attribute) return "#1d2527";
  if (!saying) return "#ffffff";
  var value = saying.status === "between" ? (saying.low + saying.high) / 2 : saying.low !== null ? saying.low : saying.high;
  if (value === null) return "#ffffff";
  var shown = activePart();
  if (shown && !/^(estimate|low90|high90)$/.test(shown.part)) return "#f1e6cd"; // no legend of depths is beside the map
  var row = classOf({ legend: legendAtPits(state.attribute) }, value);
  return row ? row.colour : "#f1e6cd";
}

// The classes of the attribute's surface where there is one, else its own.
function legendAtPits(name) {
  var group = data.groups.find(function (group) { return group.kind === "surface" && group.name === name; });
  var part = group && group.parts.find(function (part) { return part.part === "estimate"; });
  return part ? part.legend : attributes[name].legend;
}

// The marker under a point of the map, within reach of a finger or of a pointer.
function markerNear(point, reach) {
  var best = null, least = reach;
  markers.forEach(function (k) {
    var distance = map.latLngToContainerPoint([pits.lat[k], pits.lon[k]]).distanceTo(point);
    if (distance < least) { least = distance; best = k; }
  });
  return best;
}
