// The calculators by the closed forms of drying/air.py, wood.py, meters.py and samples.py, where their sources stand; the
// tables are those of yard/outlook/tools/tables.py. Each takes what its form gives and returns figures and codes of notes,
// or throws a Refused. `wood` is a row of the table. A browser test holds them to the core.

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

// Every figure of air; a form shows those that it has room for.
function airTool(given) {
  const { t } = given;
  const pressure = pressureAt(given.altitude);
  const rh = humidity(given, pressure);
  const wet = wetBulb(t, rh, pressure);
  const dew = rh < 1 ? null : bisect(lnSaturation, t - 110, t, Math.log(rh / 100) + lnSaturation(t));
  const water = 1000 * ratio((rh / 100) * saturation(t), pressure);
  const isBeyond = t < -1.1 || rh < 5 || rh > 95;
  return [{ emc: sorption(t, rh), rh, wet, depression: t - wet, dew, water }, [isBeyond && "beyond_table"]];
}

// Linear between the points, its ends held.
function interpolated(x, xs, ys) {
  const at = xs.findIndex((each) => each > x);
  if (at < 1) return at ? ys.at(-1) : ys[0];
  return ys[at - 1] + ((x - xs[at - 1]) / (xs[at] - xs[at - 1])) * (ys[at] - ys[at - 1]);
}

// NaN outside either curve: form, a, b, °C, from, to.
function speciesPart(mc, scale, own, points) {
  const atScale = mc + points(mc, scale[3]);
  const seen = covers(scale, atScale) ? moistureOf(own, logMegohm(scale, atScale)) : NaN;
  return covers(own, seen) ? seen - points(seen, own[3]) - mc : NaN;
}

const covers = (curve, mc) => mc >= curve[4] && mc <= curve[5];

function logMegohm([form, a, b], mc) {
  return form ? 10 ** (a * mc + b) - 1 : (Math.log10(mc) - a) / b - 3;
}

function moistureOf([form, a, b], log) {
  return form ? (Math.log10(log + 1) - b) / a : 10 ** (a + b * (log + 3));
}

function meterTool({ value, t, wood, meter, calibrated }, { temperatures, chart, rules, chartTop, scales }) {
  const points = (indicated, at) => interpolated(at, temperatures, chart.map((line) => interpolated(indicated, ...line)));
  const thermal = points(value, t) - points(value, calibrated);
  const warm = value + thermal;
  const lacking = wood.meter !== meter && (wood.lacks || (!meter && "meter_scale_not_given"));
  const wanted = lacking || wood.meter === meter ? 0 : speciesPart(warm, scales[meter], scales[wood.meter], points);
  const species = wanted || 0;
  const every = [warm + species, ...rules.map((rule) => rule * (calibrated - t) + value + species)];
  const held = every.map((each) => Math.max(each, 0));
  const figures = {
    value: held[0],
    temperature_part: thermal,
    species_part: species,
    low: Math.min(...held),
    high: Math.max(...held),
  };
  const notes = [
    (every[0] > 30 || value > 30) && "above_usable_range",
    value < 6 && "below_usable_range",
    thermal && (value < 6 || value > 25 || warm > chartTop) && "outside_temperature_chart",
    t < 0 && warm > chartTop && "frozen_wood",
    Number.isNaN(wanted) && "outside_species_curve",
    lacking,
  ];
  return [figures, notes];
}

function moisture(wet, dry, field) {
  const mc = (wet / dry - 1) * 100;
  if (mc < 0) refuse(field, "lighter", { wet, dry });
  if (mc > 400) refuse(field, "too_wet", { mc });
  return mc;
}

// Total shrinkage, and the share of the size that is left.
function shrunk({ wood: { radial, tangential }, grain, side, mc }) {
  if (radial == null || tangential == null) refuse("wood", "no_shrinkage");
  const one = (grain === "flat") === (side !== "width") ? radial : tangential;
  const total = !grain || grain === "mixed" ? (radial + tangential) / 2 : one;
  return [total, 1 - ((total / 100) * Math.max(30 - mc, 0)) / 30];
}

function sized(size, dry, [total, left], { wood }) {
  return [{ size, dry, shrinkage: 100 - 100 * left, total }, [wood.recalled & 2 && "recalled"]];
}

export const TOOLS = {
  emc: airTool,
  humidity: airTool,
  air({ t, emc, altitude }) {
    const most = sorption(t, 100);
    if (emc > most) refuse("emc", "too_damp", { most });
    return airTool({ t, altitude, rh: bisect((each) => sorption(t, each), 0, 100, emc) });
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
  sawing(given) {
    const found = shrunk(given);
    const dry = given.size + 2 * given.planing;
    return sized(dry / found[1] + given.deviation, dry, found, given);
  },
  finished(given) {
    const found = shrunk(given);
    const green = given.sawn - given.deviation;
    const dry = green * found[1];
    const size = dry - 2 * given.planing;
    if (green < 0 || size < 0) refuse("sawn", "too_small", { lacking: green < 0 ? -green : -size });
    return sized(size, dry, found, given);
  },
  mass({ wood, mc, thickness, width, length, count, to }) {
    const volume = (thickness * width * length * count) / 1e6;
    const dry = volume * wood.density;
    const mass = dry * (1 + mc / 100);
    const each = mass / count;
    const lost = to == null ? null : (dry * (mc - to)) / 100;
    const then = to == null ? null : mass - lost;
    return [{ mass, each, volume, dry, water: mass - dry, lost, then }, [each > 25 && "heavy", wood.recalled & 1 && "recalled"]];
  },
};
