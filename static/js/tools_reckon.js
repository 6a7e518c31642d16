// The calculators by the closed forms of drying/air.py, wood.py, meters.py and samples.py, where their sources stand; the
// tables are those of yard/outlook/tools/tables.py. Each takes what its form gives and returns figures and codes of notes,
// or throws a Refused. A browser test holds them to the core.

const KELVIN = 273.15;
const MASS_RATIO = 0.621945;

export class Refused {
  constructor(field, code, figures) {
    Object.assign(this, { field, code, figures });
  }
}

export function refuse(field, code, figures = {}) {
  throw new Refused(field, code, figures);
}

function bisect(rising, low, high, target) {
  for (let turn = 0; turn < 52; turn += 1) {
    const middle = (low + high) / 2;
    if (rising(middle) < target) low = middle;
    else high = middle;
  }
  return (low + high) / 2;
}

const sum = (factors, x) => factors.reduce((total, factor, power) => total + factor * x ** power, 0);

function lnSaturation(t) {
  const k = t + KELVIN;
  const [first, factors, log] =
    t > 0.01
      ? [-5.8002206e3, [1.3914993, -4.8640239e-2, 4.1764768e-5, -1.4452093e-8], 6.5459673]
      : [-5.6745359e3, [6.3925247, -9.677843e-3, 6.2215701e-7, 2.0747825e-9, -9.484024e-13], 4.1635019];
  return first / k + sum(factors, k) + log * Math.log(k);
}

const saturation = (t) => Math.exp(lnSaturation(t));
const pressureAt = (altitude) => 101325 * (1 - 2.25577e-5 * altitude) ** 5.2559;
const ratio = (vapour, pressure) => (vapour < pressure ? (MASS_RATIO * vapour) / (pressure - vapour) : Infinity);

function ratioOfWetBulb(dry, wet, pressure) {
  const [heat, slope, liquid] = wet < 0 ? [2830, 0.24, 2.1] : [2501, 2.326, 4.186];
  const held = (heat - slope * wet) * ratio(saturation(wet), pressure);
  return (held - 1.006 * (dry - wet)) / (heat + 1.86 * dry - liquid * wet);
}

function wetBulb(t, rh, pressure) {
  return bisect((wet) => ratioOfWetBulb(t, wet, pressure), t - 100, t, ratio((rh / 100) * saturation(t), pressure));
}

function sorption(t, rh) {
  const k1 = sum([6.27, -0.00938, -0.000303], t);
  const k2 = sum([1.91, 0.0407, -0.000293], t);
  const kh = (sum([0.805, 0.000736, -0.00000273], t) * rh) / 100;
  const hydrates = (k1 * kh + 2 * k1 * k2 * kh ** 2) / (1 + k1 * kh + k1 * k2 * kh ** 2);
  return (1800 / sum([349, 1.29, 0.0135], t)) * (kh / (1 - kh) + hydrates);
}

function humidity({ t, rh, wet, dew }, pressure) {
  const given = Object.entries({ rh, wet, dew }).filter(([, value]) => value != null);
  if (!given[0]) refuse("rh", "one_of");
  if (given[1]) refuse(given[1][0], "one_only");
  if ((wet ?? t) > t) refuse("wet", "swapped", { wet, t });
  if ((dew ?? t) > t) refuse("dew", "dew_above", { dew, t });
  if (dew != null) return Math.min((100 * saturation(dew)) / saturation(t), 100);
  if (wet == null) return rh;
  const found = ratioOfWetBulb(t, wet, pressure);
  if (found < -1e-9) refuse("wet", "too_dry", { wet, least: wetBulb(t, 0, pressure) });
  const held = Math.max(found, 0);
  return Math.min((100 * pressure * held) / (MASS_RATIO + held) / saturation(t), 100);
}

function airOf(t, rh, pressure) {
  const wet = wetBulb(t, rh, pressure);
  const dew = rh < 1 ? null : bisect(lnSaturation, t - 110, t, Math.log(rh / 100) + lnSaturation(t));
  return { rh, wet, depression: t - wet, dew };
}

const checked = (t, rh) => (t < -1.1 || rh < 5 || rh > 95 ? ["beyond_table"] : []);

// Linear between the points, its ends held.
function interpolated(x, xs, ys) {
  const at = xs.findIndex((each) => each > x);
  if (at < 1) return at ? ys.at(-1) : ys[0];
  return ys[at - 1] + ((x - xs[at - 1]) / (xs[at] - xs[at - 1])) * (ys[at] - ys[at - 1]);
}

function chartPoints(indicated, t, chart) {
  return interpolated(t, chart.map(([each]) => each), chart.map(([, xs, ys]) => interpolated(indicated, xs, ys)));
}

function logMegohm([form, a, b], mc) {
  return form === "double_log" ? 10 ** (a * mc + b) - 1 : (Math.log10(mc) - a) / b - 3;
}

function moistureOf([form, a, b], log) {
  return form === "double_log" ? (Math.log10(log + 1) - b) / a : 10 ** (a + b * (log + 3));
}

const covers = (curve, mc) => mc >= curve[4] && mc <= curve[5];

// NaN outside either curve.
function speciesPart(mc, scale, own, chart) {
  const atScale = mc + chartPoints(mc, scale[3], chart);
  const seen = covers(scale, atScale) ? moistureOf(own, logMegohm(scale, atScale)) : NaN;
  return covers(own, seen) ? seen - chartPoints(seen, own[3], chart) - mc : NaN;
}

// The code of what is missing for a correction.
function missing(wood, meter, scale, own) {
  if (!wood) return "species_not_given";
  if (wood === meter) return "";
  if (!own) return "no_species_curve";
  if (!meter) return "meter_scale_not_given";
  return scale ? "" : "no_meter_scale_curve";
}

function meterTool({ value, t, wood, meter, calibrated }, { chart, rules, chartTop, scales, curves, woods }) {
  const key = woodOf(wood, woods).meter;
  const [scale, own] = [curves[scales[meter]], curves[scales[key]]];
  const thermal = chartPoints(value, t, chart) - chartPoints(value, calibrated, chart);
  const warm = value + thermal;
  const lacking = missing(key, meter, scale, own);
  const wanted = lacking || key === meter ? 0 : speciesPart(warm, scale, own, chart);
  const species = wanted || 0;
  const every = [warm + species, ...rules.map((rule) => rule * (calibrated - t) + value + species)];
  const held = every.map((each) => Math.max(each, 0));
  const holds = {
    above_usable_range: every[0] > 30 || value > 30,
    below_usable_range: value < 6,
    outside_temperature_chart: thermal && (value < 6 || value > 25 || warm > chartTop),
    frozen_wood: t < 0 && warm > chartTop,
    outside_species_curve: Number.isNaN(wanted),
    [lacking]: lacking,
  };
  const [low, high] = [Math.min(...held), Math.max(...held)];
  return [{ value: held[0], temperature_part: thermal, species_part: species, low, high }, Object.keys(holds).filter((code) => holds[code])];
}

function woodOf(key, woods) {
  const [, , density, radial, tangential, meter, recalled] = woods.find(([each]) => each === key);
  return { density, radial, tangential, meter, recalled };
}

function moisture(wet, dry, field) {
  const mc = (wet / dry - 1) * 100;
  if (mc < 0) refuse(field, "lighter", { wet, dry });
  if (mc > 400) refuse(field, "too_wet", { mc });
  return mc;
}

// Total shrinkage, and the share of the size that is left.
function shrunk({ wood, grain, side, mc }, { woods }) {
  const { radial, tangential } = woodOf(wood, woods);
  if (radial == null || tangential == null) refuse("wood", "no_shrinkage");
  const one = (grain === "flat") === (side !== "width") ? radial : tangential;
  const total = grain === "flat" || grain === "quarter" ? one : (radial + tangential) / 2;
  return [total, 1 - ((total / 100) * Math.max(30 - mc, 0)) / 30];
}

function sized(size, dry, [total, left], { wood }, { woods }) {
  return [{ size, dry, shrinkage: 100 - 100 * left, total }, woodOf(wood, woods).recalled & 2 ? ["recalled"] : []];
}

export const TOOLS = {
  emc(given) {
    const pressure = pressureAt(given.altitude);
    const rh = humidity(given, pressure);
    return [{ emc: sorption(given.t, rh), ...airOf(given.t, rh, pressure) }, checked(given.t, rh)];
  },
  air({ t, emc, altitude }) {
    const most = sorption(t, 100);
    if (emc > most) refuse("emc", "too_damp", { most });
    const rh = bisect((each) => sorption(t, each), 0, 100, emc);
    return [airOf(t, rh, pressureAt(altitude)), checked(t, rh)];
  },
  humidity(given) {
    const pressure = pressureAt(given.altitude);
    const rh = humidity(given, pressure);
    const water = ratio((rh / 100) * saturation(given.t), pressure);
    const density = ((1 + water) * pressure) / (287.042 * (given.t + KELVIN) * (1 + 1.607858 * water));
    return [{ ...airOf(given.t, rh, pressure), water: 1000 * water, density }];
  },
  meter: meterTool,
  oven({ wet, dry }) {
    const mc = moisture(wet, dry, "dry");
    return [{ mc, water: wet - dry, wet_basis: mc / (1 + mc / 100) }];
  },
  sample({ green, sections, now, target }) {
    const dry = green / (1 + sections / 100);
    return [{ mc: moisture(now, dry, "now"), dry, target_mass: target == null ? null : dry * (1 + target / 100) }];
  },
  sawing(given, tables) {
    const found = shrunk(given, tables);
    const dry = given.size + 2 * given.planing;
    return sized(dry / found[1] + given.deviation, dry, found, given, tables);
  },
  finished(given, tables) {
    const found = shrunk(given, tables);
    const green = given.sawn - given.deviation;
    const size = green * found[1] - 2 * given.planing;
    const lacking = -Math.min(green, size);
    if (lacking > 0) refuse("sawn", "too_small", { lacking: green < 0 ? -green : lacking });
    return sized(size, green * found[1], found, given, tables);
  },
  mass({ wood, mc, thickness, width, length, count, to }, { woods }) {
    const { density, recalled } = woodOf(wood, woods);
    const volume = (thickness * width * length * count) / 1e6;
    const dry = volume * density;
    const mass = dry * (1 + mc / 100);
    const lost = to == null ? null : (dry * (mc - to)) / 100;
    const notes = [mass / count > 25 && "heavy", recalled & 1 && "recalled"];
    return [{ mass, each: mass / count, volume, dry, water: mass - dry, lost, then: lost == null ? null : mass - lost }, notes];
  },
};
