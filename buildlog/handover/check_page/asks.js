// What a buyer should ask the seller: as the tool asks it (`asks.py`), of the figures as they came.

const LONGEST_ASKED = 60;
const AMOUNT_TEXT = /^-?\d{1,12}(?:\.\d{1,12})?$/;

function askOfRecord(handover, seals, stamped, paths) {
  const days = paths.map(findDay).filter(Boolean).sort();
  const last = seals[seals.length - 1];
  return [...askOfDay(handover.as_of, days, last), ...askWithheld(handover), ...askOfSeals(seals, days, stamped)];
}

function askOfDay(asOf, days, last) {
  const later = days.filter((day) => day > asOf).length;
  if (later) return [tell("ask-left-out", "", { entries: later, day: sayDay(asOf) })];
  return last && last.date > asOf ? [tell("ask-older", "", { day: sayDay(asOf), sealed: sayDay(last.date) })] : [];
}

function askWithheld(handover) {
  const held = handover.withheld.map((one) => one.path);
  return held.length ? [tell("ask-withheld", "", { files: held.length, names: joinAsked(held.map(quoteAsked)) })] : [];
}

const countDays = (first, last) => Math.round((Date.parse(last) - Date.parse(first)) / 86400000);

function askOfSeals(seals, days, stamped) {
  if (!seals.length) return [tell("ask-unsealed")];
  const found = [];
  if (days.length && countDays(days[0], seals[0].date) >= LONG_GAP) {
    found.push(tell("ask-sealed-late", "", { first: sayDay(days[0]), sealed: sayDay(seals[0].date) }));
  }
  return stamped ? found : [...found, tell("ask-no-stamp")];
}

// ── of the figures ─────────────────────────────────────────────────────────────────────────────────────────────────

// What cannot be read raises no question: a stranger's figures may be of any shape, and fail their own check.
class NotAsked extends Error {}

function askOfFigures(file) {
  return ASKS.flatMap((ask) => {
    try {
      return ask(file);
    } catch (why) {
      if (why instanceof TypeError || why instanceof NotAsked) return [];
      throw why;
    }
  });
}

function takeDay(text) {
  if (!isDay(text)) throw new NotAsked();
  return text;
}

function askGaps(file) {
  const told = new Map(file.evidence.claims.map((claim) => [claim.entry, claim.date]));
  if (!file.entries.every(isText)) throw new NotAsked();
  const days = file.entries.map((name) => findDay(`entries/${name}.md`) || (told.has(name) ? takeDay(told.get(name)) : null));
  if (days.includes(null)) return []; // it may lie in any gap
  const known = [...new Set([...days, takeDay(file.as_of)])].sort();
  const spans = known.slice(1).map((last, i) => [countDays(known[i], last), known[i], last]);
  const long = spans.filter(([length]) => length >= LONG_GAP).sort((a, b) => b[0] - a[0] || (a[1] < b[1] ? -1 : 1));
  return long.slice(0, MOST_ASKED).sort((a, b) => (a[1] < b[1] ? -1 : 1)).map(([length, first, last]) =>
    tell("ask-gap", "", { months: Math.floor((length * 12) / 365), first: sayDay(first), last: sayDay(last) }));
}

function askMeter(file) {
  const { meter } = file;
  if (!meter.readings.length) return meter.unit ? [tell("ask-meter:none")] : [];
  const found = [];
  if (meter.statement === null) found.push(tell("ask-meter:unstated"));
  else if (meter.statement !== "actual") found.push(tell("ask-meter", "", { statement: cutAsked(meter.statement) }));
  if (meter.steps.length) found.push(tell("ask-meter-changed", "", { steps: meter.steps.length }));
  return found;
}

function takeAmount(text) {
  if (!isText(text) || !AMOUNT_TEXT.test(text)) throw new NotAsked();
  return toUnits(text);
}

function askStated(file) {
  const { spent, currency } = file.costs;
  if (!isText(currency) || !/^[A-Z]{3}$/.test(currency)) throw new NotAsked();
  const all = takeAmount(spent);
  const gaps = file.evidence.gaps.filter((gap) => gap.amount !== null).map((gap) => [takeAmount(gap.amount), gap]);
  const dear = gaps.filter(([amount]) => all > 0n && amount * BigInt(COSTLY_PART) >= all);
  dear.sort(([a], [b]) => (a === b ? 0 : a > b ? -1 : 1));
  const names = dear.slice(0, MOST_ASKED).map(([, gap]) => `${quoteAsked(gap.what)} (${gap.amount} ${currency})`);
  return names.length ? [tell("ask-stated", "", { names: joinAsked(names) })] : [];
}

const askNamed = (key, list) => (file) => {
  const names = list(file);
  return names.length ? [flaw(key, say(key, { names: joinAsked(names.map(quoteAsked)) }))] : [];
};

const ASKS = [
  askGaps,
  askMeter,
  askStated,
  askNamed("ask-fault", (file) => file.faults.faults.filter((one) => one.state !== "proved").map((one) => one.name)),
  askNamed("ask-temporary", (file) => file.temporary.filter((one) => one.made_good === null).map((one) => one.what)),
  askNamed("ask-overdue", (file) => file.due.filter((one) => one.state === "overdue").map((one) => one.name)),
  askNamed("ask-unknown", (file) => file.due.filter((one) => one.state === "history unknown").map((one) => one.name)),
];

function cutAsked(text) {
  if (!isText(text)) throw new NotAsked();
  const letters = Array.from(tame(text));
  return letters.length <= LONGEST_ASKED ? letters.join("") : `${letters.slice(0, LONGEST_ASKED).join("")}…`;
}

const quoteAsked = (text) => `“${cutAsked(text)}”`;

function joinAsked(names) {
  const shown = names.slice(0, MOST_SHOWN).join(", ");
  return names.length > MOST_SHOWN ? say("names", { names: shown, more: names.length - MOST_SHOWN }) : shown;
}

async function readAsked(files) {
  if (!files.has(FIGURES)) return [];
  try {
    const data = await readWhole(files.get(FIGURES), LARGEST_FIGURES);
    return askOfFigures(readCanonical(data.subarray(0, -1), MOST_FIGURES));
  } catch (why) {
    if (why instanceof Refused || why instanceof NotCanonical) return [];
    throw why;
  }
}
