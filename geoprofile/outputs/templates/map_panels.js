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

// --- a reading ---------------------------------------------------------------------------------------------------

var SINGULAR = { zones: "Zone", strata: "Stratum", parcels: "Parcel", salvage: "Salvage polygon" };

// On a phone the sheet covers the lower part of the map: what was touched moves above it.
function keepInSight(latlng) {
  if (isWide.matches) {
    var size = map.getSize(), point = map.latLngToContainerPoint(latlng);
    if (point.x > size.x - 420) map.panBy([point.x - (size.x - 400) / 2, 0], { animate: false });
    return;
  }
  var at = map.latLngToContainerPoint(latlng), free = map.getSize().y * 0.34;
  if (at.y > free - 20 || at.y < 10) map.panBy([0, at.y - free / 2], { animate: false });
}

function openReading(latlng) {
  var reading = readAt(latlng);
  if (!reading) return;
  state.reading = latlng;
  state.pit = null;
  if (state.spot) state.spot.remove();
  state.spot = L.circleMarker(latlng, { pane: "spot", radius: 9, color: "#a03c0f", weight: 3, fill: false, interactive: false }).addTo(map);
  var group = activeGroup(), active = group && group.kind !== "terrain" ? group.name : state.attribute;
  var ordered = reading.surfaces.concat(reading.classes).sort(function (a, b) { return (b.name === active) - (a.name === active); });
  var here = reading.terrain.filter(function (row) { return row.text; }).map(function (row) { return [row.label.replace(/s$/, ""), [row.text]]; });
  reading.polygons.forEach(function (found) {
    here.push([SINGULAR[found.layer.name] || found.layer.title, [found.feature.name].concat(found.feature.says.map(function (says) {
      return says.length ? make("span", { "class": "explain" }, says.map(function (pair) { return pair.join(" "); }).join(" \u00b7 ")) : null;
    }))]);
  });
  openPanel("Reading", [
    make("p", { "class": "sub" }, "E " + reading.x.toFixed(0) + " \u00b7 N " + reading.y.toFixed(0) + " \u00b7 " + data.frame.system),
    data.groups.some(function (group) { return group.kind !== "terrain"; }) ? null : make("p", { "class": "quiet" }, "No surface was mapped in this survey: read the pits."),
    make("div", { "class": "surfaces" }, ordered.map(function (said, number) {
      return (said.each ? classesCard : surfaceCard)(said, said.name === active || (number === 0 && !active), reading);
    })),
    group && group.kind === "surface" && isDrawn(group) && group.weigh ? null : nearestTable(reading),
    here.length ? make("div", {}, [make("h3", {}, "At this place"), make("dl", { "class": "record" },
      here.reduce(function (rows, pair) { return rows.concat([make("dt", {}, pair[0]), make("dd", {}, pair[1])]); }, []))]) : null
  ]);
  layers.pits.update();
  keepInSight(latlng);
}

function card(active, head, facts) {
  if (active) return make("article", { "class": "card active" }, [make("div", { "class": "head" }, head)].concat(facts));
  return make("details", { "class": "card" }, [make("summary", { "class": "head" }, head)].concat(facts));
}

function classesCard(said, active) {
  var group = said.group, facts = [];
  if (said.each.length) facts.push(make("table", { "class": "classes" }, [make("tbody", {}, said.each.filter(function (row) { return row.value > 0; }).map(function (row) {
    return make("tr", {}, [make("th", { scope: "row" }, [make("span", { "class": "swatched" }, [swatch(row.colour), make("span", {}, row.label)])]), make("td", { "class": "number" }, row.value + "\u00a0%"),
      make("td", { "class": "share" }, [shareBar(row.value, row.colour)])]);
  }))]));
  else facts.push(make("p", { "class": "warning" }, "The pits do not back a class here."));
  if (!group.skill) facts.push(make("p", { "class": "warning" }, "Away from pits this is right no more often than the commonest class everywhere: read the pits instead."));
  var made = [group.method, group.pits_used + " pits", group.score].filter(Boolean).join(" \u00b7 ");
  facts.push(make("p", { "class": "quiet" }, made));
  return card(active, [make("span", { "class": "name" }, said.title),
    make("span", { "class": said.most ? "value" : "quiet" }, said.most ? said.most + ", " + said.probability + "\u00a0%" : "no class")], facts);
}

function shareBar(percent, colour) {
  var svg = draw("svg", { viewBox: "0 0 100 10", preserveAspectRatio: "none", "class": "share-bar", "aria-hidden": "true" });
  draw("rect", { x: 0, y: 0, width: percent, height: 10, fill: colour, stroke: "rgba(0,0,0,.35)", "stroke-width": 0.5 }, svg);
  return svg;
}

function surfaceCard(said, active, place) {
  var group = said.group, there = said.estimate !== null;
  var facts = [];
  if (there && said.low90 !== null && said.high90 !== null) {
    facts.push(make("p", { "class": "interval" }, ["90 % interval ", make("strong", {}, said.low90 + " to " + withUnit(said.high90, said.unit))]), intervalBar(said));
  }
  if (said.presence !== null) facts.push(make("p", {}, ["Probability that it is there ", make("strong", {}, said.presence + "\u00a0%")]));
  said.below.concat(said.above).forEach(function (row) {
    if (row.value !== null) facts.push(make("p", {}, [row.label + " ", make("strong", {}, row.value + "\u00a0%")]));
  });
  if (there && !group.skill) facts.push(make("p", { "class": "warning" }, "This surface predicts pits no better than one mean for all would: read the pits instead."));
  group.cautions.forEach(function (caution) {
    if (caution.indexOf("no spatial skill") < 0) facts.push(make("p", { "class": "warning" }, caution));
  });
  var doubt = said.reliability !== null && said.reliability !== 1;
  if (said.reason) facts.push(make("p", { "class": doubt ? "warning" : "backed" }, said.reason));
  var made = [group.method, group.pits_used ? group.pits_used + " pits" : "", group.score].filter(Boolean).join(" \u00b7 ");
  if (made) facts.push(make("p", { "class": "quiet" }, made.replace(/(\d) %/g, "$1\u00a0%")));
  var likely = !isDrawn(group) && said.presence !== null; // only the probability that it is there is drawn
  if (likely) facts.unshift(make("p", {}, "Not drawn, for too many pits say only a bound: what is shown is the probability that it is there."));
  var head = [make("span", { "class": "name" }, said.title),
    make("span", { "class": (there && group.skill) || likely ? "value" : "quiet" }, there ? withUnit(said.estimate, said.unit) + (group.skill ? "" : ", no skill")
      : likely ? "there: " + said.presence + "\u00a0%" : said.reason ? "no estimate" : "not mapped here")];
  if (active) facts.push(whyTable(group, place));
  return card(active, head, facts.filter(Boolean));
}

function intervalBar(said) {
  var part = said.group.parts.find(function (part) { return part.part === "estimate"; });
  var limits = part.legend.map(function (row) { return row.below; }).filter(hasDepth);
  var low = Math.min(0, said.low90), high = Math.max.apply(null, limits.concat([said.high90, low + 1])) * 1.05;
  function at(value) { return (6 + 308 * (value - low) / (high - low)).toFixed(1); }
  var svg = draw("svg", { viewBox: "0 0 320 30", "class": "bar", "aria-hidden": "true" });
  draw("line", { x1: 6, x2: 314, y1: 10, y2: 10, stroke: "#cfc8b8", "stroke-width": 2 }, svg);
  draw("line", { x1: at(said.low90), x2: at(said.high90), y1: 10, y2: 10, stroke: "#3d6f73", "stroke-width": 8 }, svg);
  draw("circle", { cx: at(said.estimate), cy: 10, r: 6, fill: "#1d2527", stroke: "#fff", "stroke-width": 2 }, svg);
  draw("text", { x: 6, y: 28, "class": "tick start" }, svg, low.toFixed(0));
  draw("text", { x: 314, y: 28, "class": "tick" }, svg, withUnit(high.toFixed(0), said.unit));
  return svg;
}

// Why the shown surface has its value here: as geoprofile surfaces --explain tells it.
function whyTable(group, place) {
  var found = isDrawn(group) ? heaviestAt(group, place, 5) : null;
  if (!found || !found.rows.length) return null;
  var sub = !found.weighed ? "This method has no weights to show: the nearest of the pits it used."
    : "Weights of all pits add to 1; one behind a nearer pit may weigh less than nothing." +
      (group.weigh.drift.length ? " The trend on terrain is in them, so distant pits on like or unlike terrain weigh too." : "") + (found.others ? " The " + found.others + " others weigh " + found.rest.toFixed(3) + " together." : "");
  return make("div", {}, [
    make("h3", {}, found.weighed ? "Why: the pits that weigh most" : "Nearest pits"),
    make("table", { "class": "nearest why" }, [
      make("thead", {}, [make("tr", {}, [make("th", { scope: "col" }, "Pit"), make("th", { scope: "col" }, "Says" + (group.unit ? ", " + group.unit : "")),
        found.weighed ? make("th", { scope: "col", "class": "number" }, "Weight") : null, make("th", { scope: "col", "class": "number" }, "Distance")])]),
      make("tbody", {}, found.rows.map(function (row) {
        return make("tr", {}, [
          make("td", {}, [row.pit < 0 ? row.id : make("button", { type: "button", "class": "link", onclick: function () { openPit(row.pit, true); } }, row.id)]),
          make("td", {}, [make("strong", {}, row.says), found.weighed && /[<>-]/.test(row.says) ? make("span", { "class": "explain" }, "counts as " + row.counts_as.toFixed(1)) : null]),
          found.weighed ? make("td", { "class": "number" }, row.weight.toFixed(3).replace("-", "\u2212")) : null,
          make("td", { "class": "number" }, row.distance.toFixed(0) + "\u00a0m")]);
      }))
    ]),
    make("p", { "class": "quiet" }, sub)
  ]);
}

function nearestTable(reading) {
  if (!reading.pits.length) return null;
  var attribute = attributes[state.attribute] || attributes[(reading.surfaces[0] || {}).name] || pits.attributes.list[0];
  return make("div", {}, [
    make("h3", {}, "Nearest pits"),
    make("table", { "class": "nearest" }, [
      make("thead", {}, [make("tr", {}, [make("th", { scope: "col" }, "Pit"), make("th", { scope: "col" }, "Distance"),
        attribute ? make("th", { scope: "col" }, attribute.title + (attribute.unit ? ", " + attribute.unit : "")) : null])]),
      make("tbody", {}, reading.pits.map(function (row) {
        var saying = attribute ? sayingAtPlace(row.pit, attribute.name) : null;
        return make("tr", {}, [
          make("td", {}, [make("button", { type: "button", "class": "link", onclick: function () { openPit(row.pit); } }, pits.id[row.pit])]),
          make("td", { "class": "number" }, row.distance.toFixed(0) + "\u00a0m"),
          attribute ? make("td", {}, [make("strong", {}, !saying ? "\u2013" : saying.status === "unknown" ? "not described" : saying.text)]) : null
        ]);
      }))
    ])
  ]);
}

// --- legend ------------------------------------------------------------------------------------------------------

function drawLegend() {
  var cards = [], part = activePart(), group = activeGroup();
  if (part) {
    var own = group.kind === "terrain" || part.unit !== group.unit; // the unit belongs to the part: a probability in %
    var title = group.kind === "terrain" ? part.label : group.title, unit = part.unit ? ", " + part.unit : "";
    cards.push(legendCard(title + (own && group.kind !== "terrain" ? "" : unit), group.kind === "terrain" ? "" : part.label + (own ? unit : ""), part.legend));
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
      row.ha ? make("span", { "class": "ha" }, row.ha + "\u00a0ha") : null]);
  })));
}
