// Meters, weighings, sizes and masses, by the closed forms of drying/meters.py, samples.py and wood.py (sources there),
// with the tables that the copy of the yard brings (yard/outlook/tools/tables.py).

import { Refused } from "./tools_air.js";

const WETTEST = 400;

function woodOf(key, { woods }) {
  const [, , density, radial, tangential, meter, recalled] = woods.find(([each]) => each === key);
  return { density, radial, tangential, meter, recalled };
}

// Linear between the points, its ends held, as numpy's interp.
function interpolated(x, xs, ys) {
  const at = xs.findIndex((each) => each > x);
  if (at === 0) return ys[0];
  if (at < 0) return ys.at(-1);
  return ys[at - 1] + ((x - xs[at - 1]) / (xs[at] - xs[at - 1])) * (ys[at] - ys[at - 1]);
}

function chartPoints(indicated, t, { chart }) {
  return interpolated(t, chart.map(([each]) => each), chart.map(([, xs, ys]) => interpolated(indicated, xs, ys)));
}

function logMegohm([form, a, b], mc) {
  return form === "double_log" ? 10 ** (a * mc + b) - 1 : (Math.log10(mc) - a) / b - 3;
}

function mcOf([form, a, b], log) {
  if (form !== "double_log") return 10 ** (a + b * (log + 3));
  return log > -1 ? (Math.log10(log + 1) - b) / a : NaN;
}

const covers = ([, , , , low, high], mc) => mc >= low && mc <= high;

// NaN outside either curve.
function speciesPart(mc, scale, own, tables) {
  const atScale = mc + chartPoints(mc, scale[3], tables);
  const seen = covers(scale, atScale) ? mcOf(own, logMegohm(scale, atScale)) : NaN;
  return covers(own, seen) ? seen - chartPoints(seen, own[3], tables) - mc : NaN;
}

// [scale, own], or the code of what is missing, or nothing where the scale is the wood's own.
function curvesFor(wood, meter, { scales, curves }) {
  if (!wood) return "species_not_given";
  if (wood === meter) return null;
  const own = curves[scales[wood]];
  if (!own) return "no_species_curve";
  if (!meter) return "meter_scale_not_given";
  const scale = curves[scales[meter]];
  return scale ? [scale, own] : "no_meter_scale_curve";
}

function meterTool({ value, t, wood, meter, calibrated }, tables) {
  const curves = curvesFor(woodOf(wood, tables).meter, meter, tables);
  const thermal = chartPoints(value, t, tables) - chartPoints(value, calibrated, tables);
  const wanted = Array.isArray(curves) ? speciesPart(value + thermal, ...curves, tables) : 0;
  const species = wanted || 0;
  const warm = value + thermal;
  const result = warm + species;
  const every = [...tables.rules.map((rule) => rule * (calibrated - t) + value + species), result].map((each) => Math.max(each, 0));
  const holds = {
    above_usable_range: result > 30 || value > 30,
    below_usable_range: value < 6,
    outside_temperature_chart: thermal !== 0 && (value < 6 || value > 25 || warm > tables.chartTop),
    frozen_wood: t < 0 && warm > tables.chartTop,
    outside_species_curve: Number.isNaN(wanted),
    [typeof curves === "string" ? curves : ""]: typeof curves === "string",
  };
  return {
    figures: {
      value: Math.max(result, 0),
      temperature_part: thermal,
      species_part: species,
      low: Math.min(...every),
      high: Math.max(...every),
    },
    notes: Object.keys(holds).filter((code) => holds[code]),
  };
}

function moisture(wet, dry, field) {
  const mc = (wet / dry - 1) * 100;
  if (wet < dry) throw new Refused(field, "lighter", { wet, dry });
  if (mc > WETTEST) throw new Refused(field, "too_wet", { mc });
  return mc;
}

function totalShrinkage({ wood, grain, side }, tables) {
  const { radial, tangential } = woodOf(wood, tables);
  if (radial == null || tangential == null) throw new Refused("wood", "no_shrinkage");
  if (!grain || grain === "mixed") return (radial + tangential) / 2;
  return (grain === "flat") === (side !== "width") ? radial : tangential;
}

const shareLeft = (total, mc) => 1 - ((total / 100) * Math.max(30 - mc, 0)) / 30;

function sized(size, dry, total, { wood, mc }, tables) {
  const shrinkage = 100 - 100 * shareLeft(total, mc);
  return { figures: { size, dry, shrinkage, total }, notes: woodOf(wood, tables).recalled & 2 ? ["recalled"] : [] };
}

export const WOOD_TOOLS = {
  meter: meterTool,
  oven({ wet, dry }) {
    const mc = moisture(wet, dry, "dry");
    return { figures: { mc, water: wet - dry, wet_basis: mc / (1 + mc / 100) } };
  },
  sample({ green, sections, now, target }) {
    const dry = green / (1 + sections / 100);
    const mass = target == null ? null : dry * (1 + target / 100);
    return { figures: { mc: moisture(now, dry, "now"), dry, target_mass: mass } };
  },
  sawing(given, tables) {
    const total = totalShrinkage(given, tables);
    const dry = given.size + 2 * given.planing;
    return sized(dry / shareLeft(total, given.mc) + given.deviation, dry, total, given, tables);
  },
  finished(given, tables) {
    const total = totalShrinkage(given, tables);
    const { sawn, planing, deviation } = given;
    if (sawn < deviation) throw new Refused("sawn", "too_small", { lacking: deviation - sawn });
    const dry = (sawn - deviation) * shareLeft(total, given.mc);
    if (dry < 2 * planing) throw new Refused("sawn", "too_small", { lacking: 2 * planing - dry });
    return sized(dry - 2 * planing, dry, total, given, tables);
  },
  mass({ wood, mc, thickness, width, length, count, to }, tables) {
    const { density, recalled } = woodOf(wood, tables);
    const volume = (thickness * width * length * count) / 1e6;
    const dry = volume * density;
    const mass = dry * (1 + mc / 100);
    const lost = to == null ? null : (dry * (mc - to)) / 100;
    const then = to == null ? null : mass - lost;
    const notes = [mass / count > 25 && "heavy", recalled & 1 && "recalled"].filter(Boolean);
    return { figures: { mass, each: mass / count, volume, dry, water: mass - dry, lost, then }, notes };
  },
};
