// Air and equilibrium moisture, by the closed forms of drying/air.py and drying/wood.py (sources there). A browser test
// holds these calculators to the core. Each takes what its form gives and returns figures, or throws a Refused.

const KELVIN = 273.15;
const MASS_RATIO = 0.621945;

export class Refused {
  constructor(field, code, figures = {}) {
    Object.assign(this, { field, code, figures });
  }
}

function lnSaturation(k) {
  if (k <= KELVIN + 0.01) {
    const ice = -5.6745359e3 / k + 6.3925247 - 9.677843e-3 * k + 6.2215701e-7 * k ** 2 + 2.0747825e-9 * k ** 3;
    return ice - 9.484024e-13 * k ** 4 + 4.1635019 * Math.log(k);
  }
  const water = -5.8002206e3 / k + 1.3914993 - 4.8640239e-2 * k + 4.1764768e-5 * k ** 2 - 1.4452093e-8 * k ** 3;
  return water + 6.5459673 * Math.log(k);
}

const saturation = (t) => Math.exp(lnSaturation(t + KELVIN));
const pressureAt = (altitude) => 101325 * (1 - 2.25577e-5 * altitude) ** 5.2559;

function bisect(rising, low, high, target) {
  for (let turn = 0; turn < 52; turn += 1) {
    const middle = (low + high) / 2;
    if (rising(middle) < target) low = middle;
    else high = middle;
  }
  return (low + high) / 2;
}

function ratio(vapour, pressure) {
  return vapour < pressure ? (MASS_RATIO * vapour) / (pressure - vapour) : Infinity;
}

function ratioOfWetBulb(dry, wet, pressure) {
  const saturated = ratio(saturation(wet), pressure);
  const gap = 1.006 * (dry - wet);
  if (wet >= 0) return ((2501 - 2.326 * wet) * saturated - gap) / (2501 + 1.86 * dry - 4.186 * wet);
  return ((2830 - 0.24 * wet) * saturated - gap) / (2830 + 1.86 * dry - 2.1 * wet);
}

function wetBulb(t, rh, pressure) {
  const target = ratio((rh / 100) * saturation(t), pressure);
  return bisect((wet) => ratioOfWetBulb(t, wet, pressure), t - 100, t, target);
}

function dewPoint(t, rh) {
  return bisect(lnSaturation, t + KELVIN - 110, t + KELVIN, Math.log(rh / 100) + lnSaturation(t + KELVIN)) - KELVIN;
}

function sorption(t, rh) {
  const k1 = 6.27 - 0.00938 * t - 0.000303 * t ** 2;
  const k2 = 1.91 + 0.0407 * t - 0.000293 * t ** 2;
  const kh = ((0.805 + 0.000736 * t - 0.00000273 * t ** 2) * rh) / 100;
  const hydrates = (k1 * kh + 2 * k1 * k2 * kh ** 2) / (1 + k1 * kh + k1 * k2 * kh ** 2);
  return (1800 / (349 + 1.29 * t + 0.0135 * t ** 2)) * (kh / (1 - kh) + hydrates);
}

function humidity({ t, rh, wet, dew }, pressure) {
  const given = Object.entries({ rh, wet, dew }).filter(([, value]) => value != null);
  if (given.length !== 1) throw new Refused(given[1]?.[0] ?? "rh", given.length ? "one_only" : "one_of");
  if (wet != null) return byWetBulb(t, wet, pressure);
  if (dew == null) return rh;
  if (dew > t) throw new Refused("dew", "dew_above", { dew, t });
  return Math.min((100 * saturation(dew)) / saturation(t), 100);
}

function byWetBulb(t, wet, pressure) {
  if (wet > t) throw new Refused("wet", "swapped", { wet, t });
  const found = ratioOfWetBulb(t, wet, pressure);
  if (found < -1e-9) throw new Refused("wet", "too_dry", { wet, least: wetBulb(t, 0, pressure) });
  const held = Math.max(found, 0);
  return Math.min((100 * pressure * held) / (MASS_RATIO + held) / saturation(t), 100);
}

function shown(t, rh, pressure) {
  const wet = wetBulb(t, rh, pressure);
  return { rh, wet, depression: t - wet, dew: rh >= 1 ? dewPoint(t, rh) : null };
}

function checked(t, rh) {
  return t >= -1.1 && t <= 98.9 && rh >= 5 && rh <= 95 ? [] : ["beyond_table"];
}

export const AIR_TOOLS = {
  emc(given) {
    const pressure = pressureAt(given.altitude);
    const rh = humidity(given, pressure);
    return { figures: { emc: sorption(given.t, rh), ...shown(given.t, rh, pressure) }, notes: checked(given.t, rh) };
  },
  air({ t, emc, altitude }) {
    const most = sorption(t, 100);
    if (emc > most) throw new Refused("emc", "too_damp", { most });
    const rh = bisect((each) => sorption(t, each), 0, 100, emc);
    return { figures: shown(t, rh, pressureAt(altitude)), notes: checked(t, rh) };
  },
  humidity(given) {
    const { t } = given;
    const pressure = pressureAt(given.altitude);
    const rh = humidity(given, pressure);
    const water = ratio((rh / 100) * saturation(t), pressure);
    const density = ((1 + water) * pressure) / (287.042 * (t + KELVIN) * (1 + 1.607858 * water));
    return { figures: { ...shown(t, rh, pressure), water: 1000 * water, density } };
  },
};
