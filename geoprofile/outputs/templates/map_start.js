// Start: layers, controls, what a click and a key do.

var state = { group: null, part: 0, attribute: null, pit: null, reading: null, spot: null, vectors: { pits: true }, returnTo: null, tab: null };
var layers = { relief: null, cells: null, pits: null, names: null, vectors: {} };
var PANES = [["relief", 210], ["area", 300], ["cells", 320], ["vectors", 420], ["names", 600], ["spot", 620], ["pits", 640]];
var pointer = "mouse"; // what was used last: a finger gets no tooltip
["pointerdown", "pointermove"].forEach(function (name) {
  document.addEventListener(name, function (event) { pointer = event.pointerType; }, true);
});
var isWide = window.matchMedia("(min-width: 900px)");

function activeGroup() { return state.group === null ? null : data.groups[state.group]; }
function activePart() { var group = activeGroup(); return group ? group.parts[Math.min(state.part, group.parts.length - 1)] || null : null; }

PANES.forEach(function (pane) {
  map.createPane(pane[0]).style.zIndex = pane[1];
  map.getPane(pane[0]).style.pointerEvents = "none"; // the map itself answers clicks: pits first, else a reading
});

function fit() {
  if (!data.frame) return;
  var wide = isWide.matches;
  map.fitBounds(data.frame.bounds, { paddingTopLeft: wide ? [266, 24] : [12, 12], paddingBottomRight: wide ? [64, 40] : [30, 150], animate: false });
}

if (data.tiles) { // only when the survey file asks for them; the relief then darkens them instead of covering them
  layers.tiles = L.tileLayer(data.tiles.address, { maxZoom: 22, referrerPolicy: "no-referrer" });
  state.vectors.tiles = true;
  map.getPane("relief").style.mixBlendMode = "multiply";
}

layers.relief = new ReliefLayer("relief");
layers.cells = new CellLayer("cells");
layers.pits = new PitLayer("pits");
layers.names = new NameLayer("names");

// --- vectors -----------------------------------------------------------------------------------------------------

var STYLES = {
  area: { color: "#1d2527", weight: 2, dashArray: "10 5", fill: false },
  strata: { color: "#5a3e8c", weight: 2.5, dashArray: "3 6", fill: false },
  parcels: { color: "#1f5c99", weight: 2.5, fill: false },
  zones: { color: "#1d2527", weight: 1.2 },
  salvage: { color: "#a03c0f", weight: 3, fill: false },
  route: { color: "#a03c0f", weight: 3, fill: false }
};

function pathsOf(feature) {
  return feature.paths.map(function (part) {
    return part.map(function (ring) {
      var points = [];
      for (var k = 0; k < ring.length; k += 2) points.push([ring[k], ring[k + 1]]);
      return points;
    });
  });
}

data.vectors.forEach(function (layer) {
  var shapes = layer.features.map(function (feature) {
    var style = L.extend({ interactive: false, pane: layer.name === "area" ? "area" : "vectors" }, STYLES[layer.name] || STYLES.parcels);
    if (feature.colour) style = L.extend(style, { fillColor: feature.colour, filled: true });
    return feature.closed ? L.polygon(pathsOf(feature), style) : L.polyline(pathsOf(feature).map(function (part) { return part[0]; }), style);
  });
  layers.vectors[layer.name] = L.layerGroup(shapes);
  state.vectors[layer.name] = layer.shown;
});

// Zones are filled only where no raster lies under them: two colours mixed would belong to neither legend.
function fillZones() {
  data.vectors.forEach(function (layer) {
    layers.vectors[layer.name].eachLayer(function (shape) {
      if (shape.options.filled) shape.setStyle({ fillOpacity: activePart() ? 0 : 0.6 });
    });
  });
}

function showVectors() {
  data.vectors.forEach(function (layer) { // in their order: zones above parcels and strata
    map.removeLayer(layers.vectors[layer.name]);
    if (state.vectors[layer.name]) map.addLayer(layers.vectors[layer.name]);
  });
  if (state.vectors.pits) map.addLayer(layers.pits); else map.removeLayer(layers.pits);
  if (layers.tiles) map[state.vectors.tiles ? "addLayer" : "removeLayer"](layers.tiles);
  layers.names.update();
  fillZones();
  drawLegend();
}

function listVectors() {
  var list = data.vectors.map(function (layer) { return [layer.name, layer.title]; }).concat([["pits", "Pits"]], data.tiles ? [["tiles", "Background from the network"]] : []);
  byId("vectors").replaceChildren.apply(byId("vectors"), list.map(function (row) {
    var box = make("input", { type: "checkbox", name: row[0] });
    box.checked = !!state.vectors[row[0]];
    box.addEventListener("change", function () { state.vectors[row[0]] = box.checked; showVectors(); });
    var style = STYLES[row[0]];
    return make("label", { "class": "choice" }, [box, make("span", { "class": "layer-name" }, row[1]), style ? swatch(style.color, "line", style.dashArray) : row[0] === "pits" ? pitSymbol("circle") : null]);
  }));
}

// --- pits list ---------------------------------------------------------------------------------------------------

function listPits(wanted) {
  var needle = wanted.trim().toLowerCase(), found = [];
  pits.id.forEach(function (id, k) { if (!needle || id.toLowerCase().indexOf(needle) >= 0) found.push(k); });
  byId("pits-count").textContent = found.length + (found.length === 1 ? " pit" : " pits") + (found.length > 200 ? ", the first 200 are listed" : "") + (state.attribute ? " \u00b7 beside each: " + attributes[state.attribute].title + (attributes[state.attribute].unit ? ", " + attributes[state.attribute].unit : "") : "");
  byId("pits-list").replaceChildren.apply(byId("pits-list"), found.slice(0, 200).map(function (k) {
    var saying = state.attribute ? sayingOf(k, state.attribute) : null;
    return make("li", {}, [make("button", { type: "button", onclick: function () { goTo(k); } }, [
      make("span", { "class": "id" }, pits.id[k]),
      make("span", { "class": "quiet" }, saying ? saidText(saying) : fieldText(k, "recorded_soil") || fieldText(k, "kind"))
    ])]);
  }));
}

function goTo(pit) {
  state.returnTo = document.activeElement;
  if (pits.place[pit] >= 0 && pits.far.indexOf(pit) < 0) map.setView([pits.lat[pit], pits.lon[pit]], Math.max(map.getZoom(), 15), { animate: false });
  openPit(pit, true);
}

function listUnplaced() {
  [[unplaced, " pit has no coordinates", " pits have no coordinates"], [pits.far, " pit lies far outside the survey", " pits lie far outside the survey"]].forEach(function (row) {
    if (!row[0].length) return;
    byId("unplaced").appendChild(make("h3", {}, row[0].length + (row[0].length === 1 ? row[1] : row[2])));
    byId("unplaced").appendChild(make("ul", { "class": "unplaced" }, row[0].slice(0, 500).map(function (k) {
      return make("li", {}, [make("button", { type: "button", "class": "link", onclick: function () { openPit(k, true); } }, pits.id[k])]);
    })));
  });
}

// --- sheets on a phone, tabs on a desk ---------------------------------------------------------------------------

function openTab(name) {
  state.tab = name;
  ["layers", "pits", "about"].forEach(function (tab) { byId("tab-" + tab).hidden = tab !== name; });
  document.querySelectorAll("#tabs button").forEach(function (button) { button.setAttribute("aria-pressed", String(button.dataset.tab === name)); });
  if (name === "pits") listPits(byId("search").value);
  document.body.classList.add("side-open");
  if (!isWide.matches) closePanel();
  byId("side").scrollTop = 0;
}

function closeSide() {
  document.body.classList.remove("side-open");
  if (!isWide.matches) document.querySelectorAll("#tabs button").forEach(function (button) { button.setAttribute("aria-pressed", "false"); });
}

document.querySelectorAll("#tabs button").forEach(function (button) {
  button.addEventListener("click", function () {
    if (!isWide.matches && document.body.classList.contains("side-open") && state.tab === button.dataset.tab) closeSide();
    else openTab(button.dataset.tab);
  });
});
byId("side-close").addEventListener("click", closeSide);
byId("panel-close").addEventListener("click", closePanel);
byId("search").addEventListener("input", function () { listPits(this.value); });
byId("search").addEventListener("keydown", function (event) {
  if (event.key !== "Enter") return;
  var exact = pits.id.indexOf(this.value.trim()), first = document.querySelector("#pits-list button");
  if (exact >= 0) goTo(exact); else if (first) first.click();
});
byId("opacity").addEventListener("input", function () { layers.cells.setOpacity(this.value / 100); });
document.addEventListener("keydown", function (event) {
  if (event.key !== "Escape") return;
  if (!byId("panel").hidden) closePanel(); else closeSide();
});

// --- the map answers ---------------------------------------------------------------------------------------------

map.on("click", function (event) {
  var pit = state.vectors.pits ? markerNear(event.containerPoint, pointer === "touch" ? 24 : 13) : null;
  state.returnTo = map.getContainer();
  if (pit !== null) openPit(pit); else openReading(event.latlng);
});

map.getContainer().addEventListener("keydown", function (event) {
  if (event.key === "Enter" && event.target === map.getContainer()) {
    state.returnTo = map.getContainer();
    openReading(map.getCenter());
  }
});

map.on("mousemove", function (event) {
  if (lattice) {
    var place = placeOf(event.latlng);
    byId("coordinates").textContent = "E " + place.x.toFixed(0) + "  N " + place.y.toFixed(0) + "  (" + data.frame.system_name + ")";
  }
  var pit = state.vectors.pits ? markerNear(event.containerPoint, 12) : null, tip = byId("tip");
  map.getContainer().style.cursor = pit === null ? "" : "pointer";
  tip.hidden = pit === null || pointer === "touch";
  if (pit === null) return;
  var saying = state.attribute ? sayingAtPlace(pit, state.attribute) : null, remarks = fieldText(pit, "remarks");
  tip.replaceChildren.apply(tip, [make("strong", {}, visits[pit].map(function (k) { return pits.id[k]; }).join(", ")),
    saying ? make("span", {}, attributes[state.attribute].title + ": " + saidText(saying)) : null,
    remarks ? make("span", { "class": "remarks" }, remarks) : null].filter(Boolean));
  var at = map.getContainer().getBoundingClientRect(), x = at.left + event.containerPoint.x, panel = byId("panel").getBoundingClientRect();
  var end = isWide.matches && panel.width ? panel.left : window.innerWidth; // beside the pit, and never on an open panel
  tip.style.left = Math.max(8, x + 24 + tip.offsetWidth <= end ? x + 16 : x - 16 - tip.offsetWidth) + "px";
  tip.style.top = Math.max(8, at.top + event.containerPoint.y - tip.offsetHeight - 12) + "px";
});
map.on("mouseout", function () { byId("tip").hidden = true; });

function showScale() {
  var here = map.getCenter(), metres = 2 * Math.PI * RADIUS * Math.cos(here.lat * Math.PI / 180) / L.CRS.EPSG3857.scale(map.getZoom());
  var shown = metres * 96 / 0.0254, step = Math.pow(10, Math.floor(Math.log10(shown)) - 1), text = Math.round(shown / step) * step;
  var beyond = data.map_scale && shown < 0.8 * data.map_scale; // screens differ by as much: the size of their dots is not known
  byId("zoom-scale").textContent = "about 1:" + spaced(text) + " on screen" + (beyond ? ", beyond its scale of 1:" + spaced(data.map_scale) : "");
  byId("zoom-scale").className = beyond ? "beyond" : "";
}
map.on("zoomend moveend", showScale);

// --- first picture -----------------------------------------------------------------------------------------------

byId("survey-name").textContent = data.name;
byId("survey-line").textContent = [data.map_scale ? "1:" + spaced(data.map_scale) + " or smaller" : "no scale of use stated",
  pits.id.length + (pits.id.length === 1 ? " pit" : " pits"), data.invented ? "all invented" : ""].filter(Boolean).join(" \u00b7 ");
data.cautions.forEach(function (caution) {
  byId("cautions").appendChild(make("dt", {}, caution.title));
  byId("cautions").appendChild(make("dd", {}, caution.text));
});
byId("print-cautions").textContent = data.cautions.map(function (caution) { return caution.title + ": " + caution.text; }).join(" ");
data.notes.forEach(function (note) { byId("notes").appendChild(make("li", {}, note)); });
byId("notes").appendChild(make("li", {}, (grids.some(function (grid) { return grid.factor > 1; }) ? "Places are in the survey's own system" : "A click reads the cells of the survey's own grid") + (data.frame ? ", " + data.frame.system_name + " (" + data.frame.system + ")." : ".")));
if (data.refusals.length) {
  byId("refusals").appendChild(make("h2", {}, "Not drawn, and why"));
  byId("refusals").appendChild(make("dl", { "class": "record" }, data.refusals.reduce(function (rows, refusal) {
    return rows.concat([make("dt", {}, refusal.title), make("dd", {}, [refusal.reason, refusal.instead || refusal.remedy].filter(Boolean).join("; "))]);
  }, [])));
}
if (data.tiles) byId("credit").textContent = data.tiles.credit;

L.control.zoom({ position: "topright" }).addTo(map);
L.control.scale({ position: "bottomright", imperial: false, maxWidth: 140 }).addTo(map);
var home = L.control({ position: "topright" });
home.onAdd = function () {
  var box = L.DomUtil.create("div", "leaflet-bar");
  var button = make("a", { href: "#", role: "button", title: "Whole survey", "aria-label": "Show the whole survey" }, "\u2922");
  L.DomEvent.on(button, "click", function (event) { L.DomEvent.stop(event); fit(); });
  box.appendChild(button);
  return box;
};
home.addTo(map);

document.body.insertBefore(document.querySelector(".skip"), document.body.firstChild); // the first stop of the keyboard
map.getContainer().setAttribute("role", "region");
map.getContainer().setAttribute("aria-label", "Map: arrow keys move it, plus and minus zoom");

var first = choices().find(function (row) { return data.open_with && row.attribute === data.open_with; }) || choices().find(function (row) { return row.attribute; }) || choices()[0];
state.group = first.group;
state.attribute = first.attribute;
layers.cells.opacity = 0.85;
listVectors();
listUnplaced();
if (isWide.matches) openTab("layers"); else { openTab("layers"); closeSide(); }
listChoices();
fit();
showScale();

var ready = Promise.resolve();
if (typeof DecompressionStream === "undefined") {
  byId("status").appendChild(make("span", { "class": "beyond" }, "This browser is too old to show surfaces (it lacks DecompressionStream, in browsers since 2023). Pits and polygons are here."));
} else {
  ready = Promise.all(Object.keys(data.rasters).map(unpack));
}
window.geoprofileReady = ready.then(function () {
  if (data.relief.raster && lattice) layers.relief.addTo(map);
  if (lattice) layers.cells.addTo(map);
  layers.cells.show(activePart());
  layers.names.addTo(map);
  showVectors();
  document.body.classList.add("ready");
  return true;
});

// For tests and for other pages: what a click at this place reads, as plain values.
window.geoprofileRead = function (latitude, longitude) {
  var reading = readAt(L.latLng(latitude, longitude));
  if (!reading) return null;
  return {
    x: reading.x, y: reading.y,
    surfaces: reading.surfaces.map(function (said) {
      return { name: said.name, unit: said.unit, estimate: said.estimate, low90: said.low90, high90: said.high90,
        presence: said.presence, reliability: said.reliability, reason: said.reason, below: said.below, above: said.above, values: said.values,
        pits: isDrawn(said.group) ? heaviestAt(said.group, reading, 5) : null };
    }),
    classes: reading.classes.map(function (said) {
      return { name: said.name, most: said.most, probability: said.probability, each: said.each, values: said.values };
    }),
    terrain: reading.terrain,
    polygons: reading.polygons.map(function (found) { return { layer: found.layer.name, name: found.feature.name }; }),
    pits: reading.pits.map(function (row) {
      return { id: pits.id[row.pit], distance: row.distance, says: Object.keys(attributes).reduce(function (says, name) {
        var saying = sayingAtPlace(row.pit, name);
        if (saying) says[name] = saying.text;
        return says;
      }, {}) };
    })
  };
};
