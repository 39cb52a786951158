// Every answer about one bag, in the order of `buildlog verify`.

const RECKONED = ["totals", "service", "meter", "identity", "evidence", "pages"];
const BY_TOOL = "not here: `buildlog verify`, with the path of this folder or zip, reckons it again";
const OTHER_WORDS = {
  missing: "it was sealed, and is neither here nor listed as withheld",
  changed: "it is not as its latest leaf says",
  returned: "it was sealed as gone, and is here",
  unsealed: "it is in no seal",
};
const MOST_SHOWN = 5;

// `open` gives the files by name or throws Refused; `tell` is told how far it is; `kept` is a code of a seal, or null.
async function checkRecord(open, tell, kept) {
  try {
    return await examine(await open(), tell, kept);
  } catch (why) {
    if (!(why instanceof Refused)) throw why;
    const rest = leaveOpen("the files are not as a handover has them");
    const answers = Object.fromEntries([...Object.keys(QUESTIONS), ...Object.keys(BESIDE)].map((key) => [key, rest]));
    return { about: "", answers: { ...answers, files: judge([flaw(why.rule, why.message, why.file)], "") } };
  }
}

async function examine(files, tell, kept) {
  const check = await checkBag(files, (done, all) => tell(`reading file ${done + 1} of ${all}`));
  const [handover, listFlaws] = await findHandover(files);
  const [paths, strays] = placeFiles(check.digests.keys(), handover);
  const flaws = [...listFlaws, ...strays, ...(handover ? checkPlaces(handover, paths) : [])];
  const seals = checkSeals(await readSealFolder(files), findPresent(check.digests, paths, handover));
  const size = [...check.digests.values()].reduce((sum, digest) => sum + digest.size, 0);
  const answers = {
    files: judge(check.flaws, `${check.digests.size} files, ${size} bytes`),
    sealed: answerSealed(seals, paths, handover),
    seals: kept ? compareCode(answerSeals(seals), seals.seals, kept) : answerSeals(seals),
    stamps: answerBeside(files, /\.tsr$/, "no seal has a time stamp: that the dates are right is the owner’s word", "`openssl ts -verify`"),
    signatures: answerBeside(files, /\.json\.sig$/, "no seal is signed: nothing here shows who made them", "`ssh-keygen -Y verify`"),
    withheld: answerWithheld(seals, handover, flaws),
    sums: await answerSums(files),
    proofs: await answerProofs(files, seals, (done, all) => tell(`reading page ${done + 1} of ${all}`)),
  };
  for (const key of RECKONED) answers[key] = leaveOpen(handover ? BY_TOOL : `\`${LIST}\` cannot be read`);
  return { about: handover ? `${handover.machine}, figures of ${handover.as_of}` : "", answers };
}

async function findHandover(files) {
  if (!files.has(LIST)) return [null, [flaw("no-list", "it is missing: this is a bag, and no handover", LIST)]];
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
    return leaveOpen("the log was never sealed: this shows only that files are as they were handed over");
  }
  const held = new Set(handover ? handover.withheld.map((one) => one.path) : []);
  const flaws = Object.entries(OTHER_WORDS).flatMap(([state, words]) =>
    seals.files[state].filter((path) => !held.has(path)).map((path) => flaw(`sealed-${state}`, words, paths.get(path) || path)));
  const whole = seals.files.whole.filter((path) => !held.has(path)).length;
  return judge(flaws, `all ${whole} files of the log are as they were sealed`);
}

function answerSeals(seals) {
  const last = seals.seals[seals.seals.length - 1];
  if (seals.failures.length) return judge(seals.failures, "");
  if (!last) return leaveOpen("there is no seal");
  const dates = seals.seals.length > 1 ? `from ${seals.seals[0].date} to ${last.date}` : `of ${last.date}`;
  return hold(`${seals.seals.length} seal${seals.seals.length > 1 ? "s" : ""} ${dates}, ${last.leaves} leaves, root ${last.root}, code ${writeCode(last.root)}`);
}

function answerBeside(files, name, none, command) {
  const count = [...files.keys()].filter((file) => file.startsWith(SEALS) && name.test(file)).length;
  const beside = `${count} ${count === 1 ? "lies" : "lie"} beside the seals`;
  return leaveOpen(count ? `not here: ${beside}; ${command}, as \`data/CHECK.md\` has it, or \`buildlog verify\`` : none);
}

function answerWithheld(seals, handover, listFlaws) {
  if (listFlaws.length || !handover) return judge(listFlaws, "");
  const held = handover.withheld;
  if (!held.length) return hold("nothing");
  const latest = findLatest(seals.leaves);
  const flaws = held.filter((one) => {
    const number = latest.has(one.path) ? latest.get(one.path) : null;
    const sealed = number === null ? null : seals.leaves[number].digest;
    return one.leaf !== number || (one.leaf !== null && !(sealed && isSame(sealed, one)));
  }).map((one) => flaw("withheld-wrong", `\`${one.path}\` is withheld, and not as its latest leaf says`, LIST));
  const names = held.slice(0, MOST_SHOWN).map((one) => `\`${one.path}\``).join(", ");
  const says = `${held.length} of the log’s files: ${names}${held.length > MOST_SHOWN ? " and more" : ""}`;
  if (!flaws.length && held.some((one) => one.leaf === null)) return leaveOpen(`${says}; not sealed, so nothing shows what they were`);
  return judge(flaws, `${says}; each was sealed, and can be shown later`);
}
