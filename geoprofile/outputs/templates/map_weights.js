// Which pits weigh most at a place: the kriging system of its stratum, solved when it is first asked for.

var CORRELATION = {
  spherical: function (u) { return u >= 1 ? 0 : 1 - 1.5 * u + 0.5 * u * u * u; },
  exponential: function (u) { return Math.exp(-u); },
  gaussian: function (u) { return Math.exp(-u * u); },
  matern: function (u) { return (1 + u) * Math.exp(-u); }
};

// Covariance without nugget of places that lie dx east and dy north of each other.
function smoothAt(model, dx, dy) {
  var m = model.metric, u2 = m[0] * dx * dx + m[1] * dy * dy + m[2] * dx * dy;
  return model.partial_sill * CORRELATION[model.kind](Math.sqrt(Math.max(0, u2)));
}

// Lower Cholesky factor of a symmetric matrix (n x n, by rows), in place.
function factored(matrix, n) {
  for (var i = 0; i < n; i++) {
    for (var j = 0; j <= i; j++) {
      var sum = matrix[i * n + j];
      for (var k = 0; k < j; k++) sum -= matrix[i * n + k] * matrix[j * n + k];
      matrix[i * n + j] = i === j ? Math.sqrt(sum) : sum / matrix[j * n + j];
    }
  }
  return matrix;
}

function solvedBy(lower, n, right) {
  var x = Float64Array.from(right);
  for (var i = 0; i < n; i++) {
    for (var k = 0; k < i; k++) x[i] -= lower[i * n + k] * x[k];
    x[i] /= lower[i * n + i];
  }
  for (i = n - 1; i >= 0; i--) {
    for (k = i + 1; k < n; k++) x[i] -= lower[k * n + i] * x[k];
    x[i] /= lower[i * n + i];
  }
  return x;
}

function dot(a, b) { for (var sum = 0, k = 0; k < a.length; k++) sum += a[k] * b[k]; return sum; }

// Factor of the pits' covariances, and of what the trend is known by; kept with the part.
function prepared(part) {
  if (part.solved) return part.solved;
  var n = part.x.length, model = part.model, matrix = new Float64Array(n * n);
  for (var i = 0; i < n; i++) {
    for (var j = 0; j <= i; j++) matrix[i * n + j] = smoothAt(model, part.x[i] - part.x[j], part.y[i] - part.y[j]);
    matrix[i * n + i] += model.diagonal + part.error[i];
  }
  var lower = factored(matrix, n);
  var trend = [Float64Array.from({ length: n }, function () { return 1; })];
  for (var p = 0; p < (part.trend[0] || []).length; p++) trend.push(Float64Array.from(part.trend, function (row) { return row[p]; }));
  var byTrend = trend.map(function (column) { return solvedBy(lower, n, column); });
  var size = trend.length, information = new Float64Array(size * size);
  for (p = 0; p < size; p++) for (var q = 0; q < size; q++) information[p * size + q] = dot(trend[p], byTrend[q]);
  part.solved = { n: n, lower: lower, trend: trend, byTrend: byTrend, information: factored(information, size) };
  return part.solved;
}

// Weight of each pit at (x, y), trend functions there without the constant: they add to 1.
function weightsAt(part, x, y, drift) {
  var s = prepared(part), model = part.model;
  var cross = Float64Array.from(part.x, function (px, k) {
    var dx = x - px, dy = y - part.y[k];
    return smoothAt(model, dx, dy) + (dx * dx + dy * dy < 1e-6 ? model.at_pit : 0);
  });
  var own = solvedBy(s.lower, s.n, cross);
  var lack = [1].concat(drift).map(function (value, p) { return value - dot(s.trend[p], own); });
  var share = solvedBy(s.information, s.trend.length, lack);
  return own.map(function (value, k) {
    for (var p = 0; p < s.trend.length; p++) value += s.byTrend[p][k] * share[p];
    return value;
  });
}

// Middle of the page's cell around a place, for the whole cell has one value.
function middleOf(group, place) {
  var estimate = group.parts.find(function (part) { return part.part === "estimate"; });
  var grid = grids[data.rasters[estimate.raster].grid];
  return { x: grid.west + (Math.floor((place.x - grid.west) / grid.cell_m) + 0.5) * grid.cell_m,
    y: grid.north - (Math.floor((grid.north - place.y) / grid.cell_m) + 0.5) * grid.cell_m };
}

// The pits that weigh most there, or the nearest where there are no weights: {rows, weighed, rest}; null off the map.
function heaviestAt(group, place, count) {
  var weigh = group.weigh;
  if (!weigh) return null;
  var code = weigh.stratum ? cellValue(weigh.stratum, place) : 1, part = code === null ? null : weigh.parts[code - 1];
  if (!part || !part.x.length) return null;
  var at = middleOf(group, place);
  var drift = weigh.drift.map(function (one) {
    var value = cellValue(one.raster, place);
    return value === null ? null : (value - one.centre) / one.spread;
  });
  var weighed = !!part.model && drift.every(function (value) { return value !== null; });
  var weight = weighed ? weightsAt(part, at.x, at.y, drift) : null;
  var rows = part.x.map(function (x, k) {
    return { id: part.ids[k], pit: part.pits[k], says: part.says[k], distance: Math.hypot(x - at.x, part.y[k] - at.y),
      weight: weighed ? weight[k] : null, counts_as: weighed ? part.counts_as[k] : null };
  });
  rows.sort(function (a, b) { return weighed ? Math.abs(b.weight) - Math.abs(a.weight) : a.distance - b.distance; });
  var rest = rows.slice(count);
  return { rows: rows.slice(0, count), weighed: weighed, others: rest.length,
    rest: weighed ? rest.reduce(function (sum, row) { return sum + row.weight; }, 0) : null };
}
