// What is shown: the list of layers and what stands under the chosen one.

var SHORT = { estimate: "Estimate", low90: "Low 90\u00a0%", high90: "High 90\u00a0%", presence: "Is it there?", reliability: "Backed by pits?",
  "class": "Most probable", class_probability: "How probable" };

function shortOf(part) {
  if (part.part === "below" || part.part === "above") return part.label.replace("Probability of less", "Less").replace("Probability of more", "More");
  return part["class"] || SHORT[part.part] || part.label;
}

// False where bounds kept the depth or thickness from being drawn and only the probability that it is there is.
function isDrawn(group) { return group.parts.some(function (part) { return part.part === "estimate"; }); }

// Rows of the list: nothing, each surface, each terrain layer, attributes known at pits only.
function choices() {
  var rows = [{ title: data.relief.raster ? "Relief and pits by id" : "Pits by id", group: null, part: 0, attribute: null }];
  data.groups.forEach(function (group, g) {
    if (group.kind === "surface" && isDrawn(group) && group.skill) rows.push({ title: group.title, unit: group.unit, group: g, part: 0, attribute: group.name });
  });
  data.groups.forEach(function (group, g) {
    if (group.kind === "surface" && isDrawn(group) && !group.skill) rows.push({ title: group.title, unit: group.unit, group: g, part: 0, attribute: group.name, weak: true });
  });
  data.groups.forEach(function (group, g) {
    if (group.kind === "surface" && !isDrawn(group)) rows.push({ title: group.title, unit: "%", group: g, part: 0, attribute: group.name, likely: true });
  });
  data.groups.forEach(function (group, g) {
    if (group.kind === "classes") rows.push({ title: group.title, group: g, part: 0, attribute: null, classes: true });
  });
  pits.attributes.list.forEach(function (attribute) {
    if (data.groups.some(function (group) { return group.kind === "surface" && group.name === attribute.name; })) return;
    rows.push({ title: attribute.title, unit: attribute.unit, group: null, part: 0, attribute: attribute.name, only: true });
  });
  data.groups.forEach(function (group, g) {
    if (group.kind !== "terrain") return;
    group.parts.forEach(function (part, k) { rows.push({ title: part.label, unit: part.unit, group: g, part: k, attribute: null, terrain: true }); });
  });
  return rows;
}

function choose(row) {
  state.group = row.group;
  state.part = row.part;
  state.attribute = row.attribute;
  listChoices();
  redraw();
}

function redraw() {
  layers.cells.show(activePart());
  layers.pits.update();
  layers.names.update();
  fillZones();
  drawLegend();
  if (state.reading) openReading(state.reading);
}

function listChoices() {
  var heading = "";
  var nodes = [];
  choices().forEach(function (row, number) {
    var on = state.group === row.group && state.attribute === row.attribute && (!row.terrain || state.part === row.part);
    var title = row.terrain ? "Terrain" : row.classes ? "Classes noted at the pits" : row.only ? "At pits only" : row.likely ? "Only the probability that it is there" : row.weak ? "Surfaces no better than one mean" : row.attribute ? "Surfaces" : "";
    if (title !== heading) { heading = title; nodes.push(make("h3", {}, title)); }
    var radio = make("input", { type: "radio", name: "shown", id: "shown-" + number });
    radio.checked = on;
    radio.addEventListener("change", function () { choose(row); byId("shown-" + number).focus(); });
    nodes.push(make("label", { "class": "choice" + (on ? " on" : "") }, [radio, make("span", { "class": "layer-name" }, row.title), row.unit ? make("span", { "class": "unit" }, row.unit) : null]));
    if (!on) return;
    var group = activeGroup();
    if (group && group.kind !== "terrain" && group.parts.length > 1) {
      nodes.push(make("div", { "class": "parts", role: "group", "aria-label": "Which surface" }, group.parts.map(function (part, k) {
        return make("button", { type: "button", "aria-pressed": String(k === state.part), onclick: function () {
          state.part = k;
          listChoices();
          redraw();
        } }, shortOf(part));
      })));
    }
    if (group && group.kind !== "terrain") {
      group.cautions.forEach(function (caution) { nodes.push(make("p", { "class": "warning told" }, caution)); });
      nodes.push(make("p", { "class": "quiet told" }, tight([group.method, group.pits_used ? group.pits_used + " pits" : "", group.score].filter(Boolean).join(" \u00b7 "))));
      if (group.model) nodes.push(make("details", { "class": "quiet told" }, [make("summary", {}, "Model"), make("p", {}, group.model)]));
    }
    var refused = row.attribute && data.refusals.find(function (refusal) { return refusal.name === row.attribute; });
    if (refused) nodes.push(make("p", { "class": "quiet told" }, (row.likely ? "Not drawn: " : "Not mapped: ") + refused.reason));
  });
  byId("groups").replaceChildren.apply(byId("groups"), nodes);
  byId("opacity-label").hidden = !activePart();
}
