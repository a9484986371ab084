// Panels: text of the data enters the page only as text nodes.

function byId(id) { return document.getElementById(id); }

// make("p", {"class": "x"}, [children or texts])
function make(name, attributes, children) {
  var node = document.createElement(name);
  Object.keys(attributes || {}).forEach(function (key) {
    if (key === "onclick") node.addEventListener("click", attributes[key]);
    else if (attributes[key] !== null && attributes[key] !== undefined && attributes[key] !== false) node.setAttribute(key, attributes[key]);
  });
  (Array.isArray(children) ? children : children === undefined || children === null ? [] : [children]).forEach(function (child) {
    if (child) node.appendChild(typeof child === "object" ? child : document.createTextNode(String(child)));
  });
  return node;
}

function swatch(colour, shape, dashes) {
  var svg = draw("svg", { viewBox: "0 0 18 14", "class": "swatch", "aria-hidden": "true" });
  if (shape === "line") draw("line", { x1: 1, y1: 7, x2: 17, y2: 7, stroke: colour, "stroke-width": 2.5, "stroke-dasharray": dashes || "" }, svg);
  else draw("rect", { x: 0.5, y: 0.5, width: 17, height: 13, rx: 1.5, fill: colour, stroke: "rgba(0,0,0,.35)" }, svg);
  return svg;
}

function pitSymbol(shape) {
  var canvas = make("canvas", { width: 44, height: 36, "class": "symbol", "aria-hidden": "true" });
  var context = canvas.getContext("2d");
  context.scale(2, 2);
  drawPit(context, shape, "#c7c2b4", 11, 9, 5.5);
  return canvas;
}

function fieldNumber(pit, name) {
  var field = pits.fields.find(function (field) { return field.name === name; });
  return field ? field.cells[pit] : null;
}

function fieldText(pit, name) {
  var field = pits.fields.find(function (field) { return field.name === name; });
  if (!field) return "";
  var cell = field.cells[pit];
  return field.text ? words[cell] : cell === null ? "" : withUnit(cell, field.unit);
}

function openPanel(title, children) {
  state.returnTo = state.returnTo || document.activeElement;
  byId("panel-title").textContent = title;
  byId("panel-body").replaceChildren.apply(byId("panel-body"), children.filter(Boolean));
  byId("panel").hidden = false;
  byId("tip").hidden = true; // it would lie on what has just been opened
  document.body.classList.add("reading");
  closeSide();
  byId("panel").scrollTop = 0;
  byId("panel").focus({ preventScroll: true });
}

function closePanel() {
  if (byId("panel").hidden) return;
  byId("panel").hidden = true;
  document.body.classList.remove("reading");
  state.pit = null;
  state.reading = null;
  if (state.spot) { state.spot.remove(); state.spot = null; }
  layers.pits.update();
  var back = state.returnTo;
  state.returnTo = null;
  if (back && document.contains(back)) back.focus({ preventScroll: true });
}

// --- a pit -------------------------------------------------------------------------------------------------------

var EXPLAIN = {
  at_least: "at least: not reached", at_most: "at most", between: "between", absent: "not there", at_surface: "at the surface"
};

function openPit(pit, keepVisit) {
  var place = pits.place[pit], group = place >= 0 ? visits[place] : [pit];
  if (!keepVisit && group.length > 1 && pit === place) pit = group[0];
  state.pit = pit;
  state.reading = null;
  if (state.spot) { state.spot.remove(); state.spot = null; }
  var remarks = fieldText(pit, "remarks");
  var children = [
    make("p", { "class": "sub" }, [fieldText(pit, "kind"), fieldText(pit, "date"), fieldText(pit, "recorded_soil")].filter(Boolean).join(" \u00b7 ")),
    group.length > 1 ? make("div", { "class": "visits", role: "group", "aria-label": "Visits to this place" },
      [make("span", {}, group.length + " visits to this place")].concat(group.map(function (other) {
        return make("button", { type: "button", "aria-pressed": String(other === pit), onclick: function () { openPit(other, true); } }, pits.id[other]);
      }))) : null,
    place < 0 ? make("p", { "class": "warning" }, "This pit has no coordinates: it is on no map.") : null,
    drawProfile(pit) || make("p", { "class": "quiet" }, "No horizons are described."),
    horizonsInWords(pit),
    remarks ? make("blockquote", { "class": "remarks" }, remarks) : null,
    attributeTable(pit), readingsOf(pit), fieldList(pit), problemsOf(pit)
  ];
  openPanel("Pit " + pits.id[pit], children);
  layers.pits.update();
  if (place >= 0 && pits.far.indexOf(place) < 0) keepInSight(L.latLng(pits.lat[place], pits.lon[place]));
}

function attributeTable(pit) {
  var said = [], silent = [];
  pits.attributes.list.forEach(function (attribute) {
    var saying = sayingOf(pit, attribute.name);
    if (!saying) return;
    if (saying.status === "unknown") { silent.push(attribute.title); return; }
    said.push(make("tr", { "class": attribute.name === state.attribute ? "active" : null }, [
      make("th", { scope: "row", title: attribute.help }, attribute.title),
      make("td", {}, [make("strong", {}, withUnit(saying.text, attribute.unit)),
        EXPLAIN[saying.status] && saying.status !== "absent" ? make("span", { "class": "explain" }, EXPLAIN[saying.status]) : null]),
      make("td", { "class": "evidence" }, [saying.evidence, saying.flags].filter(Boolean).join("; "))
    ]));
  });
  if (!said.length && !silent.length) return null;
  return make("div", {}, [
    make("h3", {}, "What it says"),
    said.length ? make("table", { "class": "says" }, [make("tbody", {}, said)]) : null,
    silent.length ? make("p", { "class": "quiet" }, "Not described, so nothing is known: " + silent.join(", ") + ".") : null
  ]);
}

function readingsOf(pit) {
  var rows = [];
  pits.readings.pit.forEach(function (owner, k) {
    if (owner !== pit) return;
    rows.push(make("li", {}, words[pits.readings.title[k]] + ": " + words[pits.readings.text[k]] +
      (pits.readings.probe[k] ? " (probe " + pits.readings.probe[k] + ")" : "")));
  });
  return rows.length ? make("div", {}, [make("h3", {}, "Read directly in the field"), make("ul", {}, rows)]) : null;
}

function fieldList(pit) {
  var rows = [];
  pits.fields.forEach(function (field) {
    if (["remarks", "kind", "date", "file", "sheet", "row"].indexOf(field.name) >= 0) return;
    var text = fieldText(pit, field.name);
    if (text) rows.push(make("dt", {}, field.label), make("dd", {}, text));
  });
  if (pits.place[pit] >= 0) rows.push(make("dt", {}, "Coordinates"), make("dd", {}, "E " + pits.x[pit] + ", N " + pits.y[pit]));
  var source = [fieldText(pit, "file"), fieldText(pit, "sheet"), fieldText(pit, "row") && "row " + fieldText(pit, "row")].filter(Boolean).join(", ");
  if (source) rows.push(make("dt", {}, "Source"), make("dd", {}, source));
  return rows.length ? make("div", {}, [make("h3", {}, "Record"), make("dl", { "class": "record" }, rows)]) : null;
}

function problemsOf(pit) {
  var rows = [];
  pits.problems.pit.forEach(function (owner, k) {
    if (owner !== pit) return;
    var found = words[pits.problems.found[k]];
    rows.push(make("li", {}, words[pits.problems.severity[k]] + ": " + words[pits.problems.what[k]] + (found ? " (" + found + ")" : "")));
  });
  return rows.length ? make("div", {}, [make("h3", {}, "Problems found in it"), make("ul", { "class": "problems" }, rows)]) : null;
}

var HORIZON_LABELS = [["texture", "texture"], ["colour_moist", "moist"], ["colour_dry", "dry"], ["structure", "structure"], ["consistence", "consistence"],
  ["effervescence", "acid"], ["mottles", "mottles"], ["mottle_contrast", "contrast of mottles"], ["sand_percent", "sand", "%"], ["clay_percent", "clay", "%"],
  ["coarse_fragments_percent", "coarse fragments", "%"], ["caco3_percent", "CaCO\u2083", "%"], ["ec_ds_m", "EC", "dS/m"], ["ph", "pH"],
  ["organic_carbon_percent", "organic carbon", "%"], ["roots", "roots"], ["boundary", "lower boundary"], ["remarks", ""]];

function horizonsInWords(pit) {
  var rows = horizonsOf(pit);
  if (!rows.length) return null;
  return make("details", { "class": "words" }, [make("summary", {}, "Horizons in words"), make("dl", {}, rows.reduce(function (nodes, row) {
    row.structure = [row.structure_grade, row.structure_size, row.structure_kind].filter(Boolean).join(" ");
    row.boundary = [row.boundary_distinctness, row.boundary_form].filter(Boolean).join(", ");
    if (row.boundary && hasDepth(row.lower_low_cm) && hasDepth(row.lower_high_cm) && row.lower_low_cm < row.lower_high_cm) row.boundary += ", from " + row.lower_low_cm + " to " + row.lower_high_cm + " cm";
    var text = HORIZON_LABELS.filter(function (label) { return hasDepth(row[label[0]]) && row[label[0]] !== ""; }).map(function (label) {
      return (label[1] ? label[1] + " " : "") + withUnit(row[label[0]], label[2]);
    }).join("; ");
    return nodes.concat([make("dt", {}, (row.designation || "not named") + ", " + (hasDepth(row.upper_cm) ? depthText(row) + " cm" : "depth not known")), make("dd", {}, text || "not described")]);
  }, []))]);
}

// --- legend ------------------------------------------------------------------------------------------------------

function drawLegend() {
  var cards = [], part = activePart(), group = activeGroup();
  if (part) {
    var own = group.kind === "terrain" || part.unit !== group.unit; // the unit belongs to the part: a probability in %
    var title = group.kind === "terrain" ? part.label : group.title, unit = part.unit ? ", " + part.unit : "";
    var sub = (group.kind === "terrain" ? [] : [part.label + (own ? unit : "")]).concat(cellText(part.raster)).join(" \u00b7 ");
    cards.push(legendCard(title + (own && group.kind !== "terrain" ? "" : unit), sub, part.legend));
  }
  data.vectors.forEach(function (layer) {
    if (!state.vectors[layer.name] || !layer.legend.length || part) return; // outlines and names only over a raster
    cards.push(legendCard(layer.title, layer.told || "", layer.legend));
  });
  if (state.attribute && markers.length && state.vectors.pits) {
    var shapes = {};
    markers.forEach(function (k) {
      var saying = sayingAtPlace(k, state.attribute);
      shapes[SHAPES[saying ? saying.status : "unknown"]] = true;
    });
    var own = part && group.kind === "surface", named = attributes[state.attribute];
    if (!own && named.legend.length > 1) cards.push(legendCard(named.title + (named.unit ? ", " + named.unit : ""), "At pits", named.legend));
    var meaning = [["circle", "measured"], ["down", "at least (>): not reached"], ["up", "at most (<)"], ["absent", "absent"], ["small", "not described"]];
    cards.push(make("div", { "class": "legend-card pits-card" }, [make("h3", {}, own || named.legend.length > 1 ? "Pits" : named.title + " at pits" + (named.unit ? ", " + named.unit : ""))].concat(
      meaning.filter(function (row) { return shapes[row[0]]; }).map(function (row) {
        return make("div", { "class": "row" }, [pitSymbol(row[0]), make("span", {}, row[1])]);
      }))));
  }
  byId("legend").replaceChildren.apply(byId("legend"), cards);
  byId("legend").hidden = !cards.length;
}

// Narrow screens show numbers as one strip, its limits under it.
function legendStrip(rows) {
  if (rows.length < 2 || rows.some(function (row) { return row.code !== undefined || row.below === undefined; })) return null;
  var width = 300, step = width / rows.length, svg = draw("svg", { viewBox: "0 0 " + width + " 28", "class": "strip", "aria-hidden": "true" });
  rows.forEach(function (row, k) {
    draw("rect", { x: k * step, y: 0, width: step, height: 13, fill: row.colour }, svg);
    if (row.below !== null) draw("text", { x: (k + 1) * step, y: 25 }, svg, row.below);
  });
  return svg;
}

function legendCard(title, sub, rows) {
  var strip = legendStrip(rows);
  return make("div", { "class": "legend-card" + (strip ? " has-strip" : "") }, [
    make("h3", {}, title), sub ? make("p", { "class": "quiet" }, sub) : null, strip
  ].concat(rows.filter(function (row) { return row.ha !== 0 || rows.length <= 13; }).map(function (row) {
    return make("div", { "class": "row" }, [swatch(row.colour), make("span", {}, row.label),
      row.ha ? make("span", { "class": "ha" }, spaced(row.ha) + "\u00a0ha") : null]);
  })));
}
