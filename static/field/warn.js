// What one reading alone means, by the table that the engine made (single_readings.py).
// No limit stands here. Where rounding could matter, both sides of a limit are taken.
const CLOSE = 1e-9;

const number = (text = "") => {
  const plain = text.trim().replace("\u2212", "-").replace(",", ".");
  return plain ? Number(plain) : NaN; // NaN: not given
};

/** @param {Steps | undefined} steps */
function step(steps, value = NaN) {
  if (!steps || Number.isNaN(value)) return [];
  const { points, at, between } = steps;
  // Exactly at zero nothing is found: a margin would make a trace of it.
  const margin = value && Math.max(Math.abs(value), 1) * CLOSE;
  return [value - margin, value, value + margin].flatMap((each) => {
    const next = points.findIndex((point) => point >= each);
    if (next < 0) return between[points.length];
    return points[next] === each ? at[next] : between[next];
  });
}

/** @param {Factors} factors */
function scaled(factors, text = "", unit = "") {
  const [multiplier, offset] = factors[unit] ?? [NaN, NaN];
  return number(text) * multiplier + offset;
}

/** What the choices of a form mean together. @param {Choices} choices @param {Fields} fields */
export function chosen({ by, rows }, fields) {
  return rows[by.map((name) => fields[name] ?? "").join("|")];
}

/** How the figures of each kind are read. @type {Record<string, Read>} */
const FIGURES = {
  gas_meter({ figures, flags, gases }, fields) {
    const found = ["lel_percent", "oxygen_percent", "co_ppm", "h2s_ppm", "voc_ppm"]
      .flatMap((name) => step(figures[name], number(fields[name])));
    const over = Object.keys(flags).filter((name) => name.startsWith("over_") && fields[name]);
    found.push(...over.flatMap((name) => flags[name]));
    const gas = (fields.gas_name ?? "").toLowerCase().replace(/[_\s]+/g, " ").trim();
    if (gas) {
      const steps = gases[gas] ?? gases[""];
      found.push(...step(steps, number(fields.gas_ppm)));
      if (fields.over_gas) found.push(...steps.over);
    }
    return found;
  },

  thermal_imager({ figures, degf, air_degf }, { target, surface, surroundings, unit }) {
    const around = surroundings ? scaled(degf, surroundings, unit) : air_degf ?? NaN;
    return step(figures[target], scaled(degf, surface, unit) - around);
  },

  dosimeter({ figures, factors, flags }, { dose_rate, dose_rate_unit, dose, dose_unit, alarm }) {
    const rate = scaled(factors, dose_rate, dose_rate_unit);
    const sum = scaled(factors, dose, dose_unit);
    const together = figures.rate_by_dose.find(({ up_to }) => sum <= up_to * (1 - CLOSE));
    return [
      ...step(figures.dose_rate, rate),
      ...step(together, rate),
      ...step(figures.dose, sum),
      ...(alarm === "yes" ? flags.alarm : []),
    ];
  },

  air_check({ members, factors }, { member = "", pressure, unit }) {
    return step(members[member.split("/").pop() ?? ""], scaled(factors, pressure, unit));
  },
};

/** What calls for something in the ensemble worn, the strictest first. @type {Judge} */
export function judge(table, kind, fields, ensemble = "") {
  const numbers = FIGURES[kind]?.(table, fields) ?? chosen(table.choices[kind], fields) ?? [];
  // An ensemble that the table does not know: the strictest of all.
  const index = table.ensembles.indexOf(ensemble);
  const found = [...new Set(numbers)].map((one) => {
    const { title, advice, actions } = table.findings[one];
    const action = index < 0 ? Math.max(...actions) : actions[index];
    return { action, word: table.actions[action], title, advice };
  });
  return found.filter(({ action }) => action).sort((a, b) => b.action - a.action);
}
