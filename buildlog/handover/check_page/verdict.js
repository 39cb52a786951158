// The verdict over all answers in one sentence, and what was checked, in words of every day: as the tool says it (`findings.py`).

const sayDay = (day) => `${Number(day.slice(8))} ${MONTHS[Number(day.slice(5, 7)) - 1]} ${Number(day.slice(0, 4))}`;

// `last` is the last seal, or null.
function judgeAll(answers, last) {
  const failing = Object.entries(answers).filter(([, answer]) => answer.state === "fails");
  const flaws = failing.flatMap(([, answer]) => answer.flaws);
  const has = (rule) => flaws.some((one) => one.rule === rule);
  if (answers.sealed.says === say("refused open")) {
    const [why] = answers.files.flaws;
    return ["verdict refused", say("verdict refused", { why: why.file ? `${why.file}: ${why.message}` : why.message })];
  }
  const tellVerdict = (key, values = {}) => [key, say(key, values)];
  if (NO_RECORD.every(has)) return tellVerdict("verdict no record");
  if (has("code-unknown")) return tellVerdict("verdict other");
  if (!failing.length) {
    return last ? tellVerdict("verdict holds", { day: sayDay(last.date) }) : tellVerdict("verdict unsealed");
  }
  const missing = flaws.some((one) => GONE.includes(one.rule));
  const changed = failing.some(([key, answer]) => OF_FILES.includes(key) && answer.flaws.some((one) => !GONE.includes(one.rule) && !NEVER_TRUE.includes(one.rule)));
  if (missing && changed) return tellVerdict("verdict both");
  if (missing) return tellVerdict("verdict missing");
  return tellVerdict(changed ? "verdict changed" : "verdict contradicts");
}

// Pairs of a state and a sentence; nothing where nothing could be looked at.
function listChecked(answers) {
  const rows = [];
  const open = new Set();
  for (const [key, answer] of Object.entries(answers)) {
    if (answer.state === "cannot be checked" && !answer.absent) {
      open.add(FIGURED.includes(key) ? "plain open figures" : `plain open ${key}`);
      continue;
    }
    const none = key === "withheld" && answer.says === say("withheld none");
    const words = `plain ${key} ${none ? "none" : answer.absent ? "absent" : answer.state}`;
    if (Object.hasOwn(WORDS, words)) rows.push([answer.state, WORDS[words]]);
  }
  const what = [...open].filter((key) => Object.hasOwn(WORDS, key)).map((key) => WORDS[key]).join("; ");
  return what ? [...rows, ["cannot be checked", say("plain open", { what })]] : rows;
}
