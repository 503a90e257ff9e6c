// What one reading alone means, by the table that the engine made (single_readings.py).
// No limit stands here. Where rounding could matter, both sides of a limit are taken.
const CLOSE = 1e-9;

/** @typedef {(table: Table, fields: Fields) => number[]} Read numbers of findings */

/** @param {string | undefined} text */
const number = (text) => {
  const plain = String(text ?? "").trim().replace("\u2212", "-").replace(",", ".");
  return plain === "" ? undefined : Number(plain);
};

/** @param {Steps} steps @param {number} value */
function gap(steps, value) {
  const { points, at, between } = steps;
  const next = points.findIndex((point) => point >= value);
  if (next < 0) return between[points.length];
  return points[next] === value ? at[next] : between[next];
}

/** @param {Steps | undefined} steps @param {number | undefined} value */
function step(steps, value) {
  if (!steps || value === undefined || Number.isNaN(value)) return [];
  const margin = Math.max(Math.abs(value), 1) * CLOSE;
  // Exactly at zero nothing is found: a margin would make a trace of it.
  if (value === 0) return gap(steps, 0);
  return [value - margin, value, value + margin].flatMap((each) => gap(steps, each));
}

/** @param {Factors} factors @param {number | undefined} value @param {string} unit */
const scaled = (factors, value, unit) => {
  const [multiplier, offset] = factors[unit] ?? [NaN, NaN];
  return value === undefined ? undefined : value * multiplier + offset;
};

/** @param {Choices} choices @param {Fields} fields */
function chosen({ by, rows }, fields) {
  return rows[by.map((name) => fields[name] ?? "").join("|")] ?? [];
}

/** @type {Read} */
function meter(table, fields) {
  const found = ["lel_percent", "oxygen_percent", "co_ppm", "h2s_ppm", "voc_ppm"]
    .flatMap((name) => step(table.figures[name], number(fields[name])));
  for (const name of Object.keys(table.flags)) {
    if (name.startsWith("over_") && fields[name]) found.push(...table.flags[name]);
  }
  const gas = (fields.gas_name ?? "").replaceAll("_", " ").toLowerCase().trim().replace(/\s+/g, " ");
  if (gas) {
    const steps = table.gases[gas] ?? table.gases[""];
    found.push(...step(steps, number(fields.gas_ppm)));
    if (fields.over_gas) found.push(...steps.over);
  }
  return found;
}

/** @type {Read} */
function imager(table, fields) {
  const steps = table.figures[fields.target];
  const surface = scaled(table.degf, number(fields.surface), fields.unit);
  const around = scaled(table.degf, number(fields.surroundings), fields.unit) ?? table.air_degf;
  if (around === null || surface === undefined) return [];
  return step(steps, surface - around);
}

/** @type {Read} */
function dosimeter(table, fields) {
  const rate = scaled(table.factors, number(fields.dose_rate), fields.dose_rate_unit);
  const dose = scaled(table.factors, number(fields.dose), fields.dose_unit);
  const together = dose === undefined ? undefined
    : table.figures.rate_by_dose.find(({ up_to }) => dose <= up_to * (1 - CLOSE));
  return [
    ...step(table.figures.dose_rate, rate),
    ...step(together, rate),
    ...step(table.figures.dose, dose),
    ...(fields.alarm === "yes" ? table.flags.alarm : []),
  ];
}

/** @type {Read} */
function gauge(table, fields) {
  const member = (fields.member ?? "").split("/").pop() ?? "";
  return step(table.members[member], scaled(table.factors, number(fields.pressure), fields.unit));
}

/** @type {Record<string, Read>} */
const KINDS = { gas_meter: meter, thermal_imager: imager, dosimeter, air_check: gauge };

/**
 * Findings for the ensemble worn, the strictest first.
 * @param {Table} table @param {string} kind @param {Fields} fields @param {string} ensemble
 * @returns {Judged[]}
 */
export function judge(table, kind, fields, ensemble) {
  const read = KINDS[kind];
  const numbers = read ? read(table, fields) : chosen(table.choices[kind], fields);
  // An ensemble that the table does not know: the strictest of all.
  const index = table.ensembles.indexOf(ensemble);
  const found = [...new Set(numbers)].map((one) => {
    const { hazard, title, advice, actions } = table.findings[one];
    const action = index < 0 ? Math.max(...actions) : actions[index];
    return { action, word: table.actions[action], hazard, title, advice };
  });
  return found.sort((a, b) => b.action - a.action);
}
