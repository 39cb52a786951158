// Every answer about one bag, in the order of `buildlog verify`, and what they come to.

const RECOMPUTED = ["totals", "service", "meter", "identity", "evidence", "pages"];
const BY_TOOL = "not checked here: `buildlog verify`, with the path of this folder or zip, recalculates it";
const OTHER_STATES = ["missing", "changed", "returned", "unsealed"];

// `open` gives the files by name, showing how far it is, or throws Refused; `show` is shown how far it is, and may end it; `kept` is a code of a seal, or null.
async function checkRecord(open, show, kept) {
  try {
    return await examine(await open(show), show, kept);
  } catch (why) {
    if (!(why instanceof Refused)) throw why;
    const rest = leaveOpen(say("refused open"));
    const answers = Object.fromEntries([...Object.keys(QUESTIONS), ...Object.keys(BESIDE)].map((key) => [key, rest]));
    return { about: "", code: "", asks: [], last: null, answers: { ...answers, files: judge([flaw(why.rule, why.message, why.file)], "") } };
  }
}

const toMegabytes = (bytes) => Math.ceil(bytes / 1e6);

async function examine(files, show, kept) {
  const check = await checkBag(files, (done, all, read, bytes) =>
    show(`file ${done + 1} of ${all}, ${toMegabytes(read)} of ${toMegabytes(bytes)} MB read`));
  // Behind the checksums: a list that cannot be read leaves those answers as they are.
  const [handover, listFlaws] = await findHandover(files);
  const [paths, strays] = placeFiles(check.digests.keys(), handover);
  const flaws = [...listFlaws, ...strays, ...(handover ? checkPlaces(handover, paths) : [])];
  const seals = checkSeals(await readSealFolder(files), findPresent(check.digests, paths, handover));
  const size = [...check.digests.values()].reduce((sum, digest) => sum + digest.size, 0);
  const remarks = await remarkBag(files, handover, seals, [...paths.keys()]);
  const answers = {
    files: judge([...check.flaws, ...remarks.flaws.files], say("files holds", { files: check.digests.size, bytes: size })),
    sealed: answerSealed(seals, paths, handover),
    seals: kept ? compareCode(answerSeals(seals, remarks.flaws.seals), seals.seals, kept) : answerSeals(seals, remarks.flaws.seals),
    stamps: answerBeside(files, remarks.flaws.stamps, /\.tsr$/, say("stamps open"), "`openssl ts -verify`"),
    signatures: answerBeside(files, remarks.flaws.signatures, /\.json\.sig$/, say("signatures open"), "`ssh-keygen -Y verify`"),
    withheld: answerWithheld(seals, handover, flaws),
    sums: await answerSums(files),
    proofs: await answerProofs(files, seals, (done, all) => show(`page ${done + 1} of ${all} checked for its proof`)),
  };
  for (const [key, notes] of Object.entries(remarks.notes)) answers[key] = addNotes(answers[key], notes);
  for (const key of RECOMPUTED) {
    answers[key] = leaveOpen(handover ? (key === "pages" ? say("pages open") : BY_TOOL) : say("list open", { list: LIST }));
  }
  const whole = answers.sealed.state !== "fails" && !seals.failures.length && !remarks.flaws.seals.length;
  return {
    about: handover ? `${handover.machine}, as of ${sayDay(handover.as_of)}` : "",
    answers,
    last: seals.seals[seals.seals.length - 1] || null,
    code: kept ? tellCode(seals, kept, whole) : "",
    asks: handover ? [...remarks.asks, ...(await readAsked(files))] : [],
  };
}

async function findHandover(files) {
  if (!files.has(LIST)) return [null, [tell("no-list", LIST)]];
  try {
    return [readHandover(await readWhole(files.get(LIST), LARGEST_LIST)), []];
  } catch (why) {
    if (!(why instanceof Refused) && !(why instanceof NotAHandover)) throw why;
    return [null, [flaw("list-unreadable", tame(why.message), LIST)]];
  }
}

// What the seals are held against: the files that are here, and of those withheld what the list says.
function findPresent(digests, paths, handover) {
  const present = new Map();
  for (const held of handover ? handover.withheld : []) present.set(held.path, { size: held.size, sha256: held.sha256 });
  for (const [path, name] of paths) if (isCovered(path)) present.set(path, digests.get(name));
  return present;
}

function answerSealed(seals, paths, handover) {
  if (!seals.leaves.length && !seals.failures.length) {
    return lack(say("sealed open"));
  }
  // What is missing and listed as withheld is for the last question, which asks whether the list says of it what its
  // leaf says.
  const held = new Set(handover ? handover.withheld.map((one) => one.path) : []);
  const flaws = OTHER_STATES.flatMap((state) =>
    seals.files[state].filter((path) => !held.has(path)).map((path) => tell(`sealed-${state}`, paths.get(path) || path)));
  const whole = seals.files.whole.filter((path) => !held.has(path)).length;
  return judge(flaws, say("sealed holds", { files: whole }));
}

function answerSeals(seals, flaws) {
  const last = seals.seals[seals.seals.length - 1];
  if (seals.failures.length || flaws.length) return judge([...seals.failures, ...flaws], "");
  if (!last) return lack(say("seals open"));
  const first = seals.seals[0];
  const values = { seals: seals.seals.length, first: first.date, date: last.date, leaves: last.leaves, root: last.root, code: writeCode(last.root) };
  return hold(say("seals holds", values));
}

function answerBeside(files, flaws, name, none, command) {
  if (flaws.length) return judge(flaws, "");
  const count = [...files.keys()].filter((file) => file.startsWith(SEALS) && name.test(file)).length;
  // No verdict here: a browser by itself reads neither SSH signatures nor time stamps.
  const beside = `${count} ${count === 1 ? "is" : "are"} with the seals`;
  if (!count) return lack(none);
  return leaveOpen(`not checked here: ${beside}; use ${command}, as in \`data/CHECK.md\`, or \`buildlog verify\``);
}

function answerWithheld(seals, handover, listFlaws) {
  if (listFlaws.length || !handover) return judge(listFlaws, "");
  const held = handover.withheld;
  if (!held.length) return hold(say("withheld none"));
  const latest = findLatest(seals.leaves);
  const flaws = held.filter((one) => {
    const number = latest.has(one.path) ? latest.get(one.path) : null;
    const sealed = number === null ? null : seals.leaves[number].digest;
    return one.leaf !== number || (one.leaf !== null && !(sealed && isSame(sealed, one)));
  }).map((one) => tell("withheld-wrong", LIST, { path: one.path }));
  const names = held.slice(0, MOST_SHOWN).map((one) => `\`${one.path}\``).join(", ");
  const some = say("withheld some", { files: held.length, names: names + (held.length > MOST_SHOWN ? " and more" : "") });
  if (!flaws.length && held.some((one) => one.leaf === null)) return lack(say("withheld open", { some, files: held.length }));
  return judge(flaws, say("withheld holds", { some, files: held.length }));
}
