// Reading: what a click says, surface by surface, and why.

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
  if (made) facts.push(make("p", { "class": "quiet" }, tight(made)));
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
  var sub = !found.weighed ? "No single model gives weights here: the nearest of the pits that were used."
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
  var shown = activeGroup(), classes = shown && shown.kind === "classes" ? shown : null;
  var attribute = classes ? null : attributes[state.attribute] || attributes[(reading.surfaces[0] || {}).name] || pits.attributes.list[0];
  return make("div", {}, [
    make("h3", {}, "Nearest pits"),
    make("table", { "class": "nearest" }, [
      make("thead", {}, [make("tr", {}, [make("th", { scope: "col" }, "Pit"), make("th", { scope: "col" }, "Distance"),
        classes ? make("th", { scope: "col" }, classes.title) : null,
        attribute ? make("th", { scope: "col" }, attribute.title + (attribute.unit ? ", " + attribute.unit : "")) : null])]),
      make("tbody", {}, reading.pits.map(function (row) {
        var saying = attribute ? sayingAtPlace(row.pit, attribute.name) : null;
        return make("tr", {}, [
          make("td", {}, [make("button", { type: "button", "class": "link", onclick: function () { openPit(row.pit); } }, pits.id[row.pit])]),
          make("td", { "class": "number" }, row.distance.toFixed(0) + "\u00a0m"),
          classes ? make("td", {}, [make("strong", {}, notedAt(row.pit) || "not noted")]) : null,
          attribute ? make("td", {}, [make("strong", {}, !saying ? "\u2013" : saying.status === "unknown" ? "not described" : saying.text)]) : null
        ]);
      }))
    ])
  ]);
}
