// Whether a bag is whole: every file listed, none added, each with the sum and size of the manifests (RFC 8493).

const TAGS = ["bagit.txt", "bag-info.txt", "manifest-sha256.txt"];
const MANIFEST = "manifest-sha256.txt";
const TAG_MANIFEST = "tagmanifest-sha256.txt";
const DECLARED = "BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n";
const LARGEST_MANIFEST = 100000000;
const LARGEST_INFO = 100000;
const MOST_WRONG_LINES = 100;
const SUM_LINE = /^([0-9a-f]{64})  ([A-Za-z0-9._/-]{1,1000})\n$/;

// The size and sum of each file that can be read, by name, and a flaw for each that cannot.
async function sumFiles(files, tell) {
  const digests = new Map();
  const flaws = [];
  const names = sortTexts(files.keys());
  for (let i = 0; i < names.length; i += 1) {
    const name = names[i];
    tell(i, names.length);
    try {
      digests.set(name, { size: files.get(name).size, sha256: await files.get(name).sum() });
    } catch (why) {
      if (!(why instanceof Refused)) throw why;
      flaws.push(flaw(why.rule, why.message, name));
    }
  }
  return [digests, flaws];
}

async function checkBag(files, tell) {
  const [digests, flaws] = await sumFiles(files, tell);
  const declared = digests.get("bagit.txt");
  if (!declared) {
    flaws.push(flaw("no-bag", "it is missing: this is no bag", "bagit.txt"));
  } else if (declared.sha256 !== toHex(sha256(encode(DECLARED)))) {
    flaws.push(flaw("declaration", "it does not say what it must (RFC 8493, section 2.1.1)", "bagit.txt"));
  }
  const unread = new Set(flaws.map((one) => one.file));
  const payload = new Map([...digests].filter(([name]) => name.startsWith(PAYLOAD)));
  const tags = new Map(TAGS.filter((name) => digests.has(name)).map((name) => [name, digests.get(name)]));
  for (const [name, found] of [[MANIFEST, payload], [TAG_MANIFEST, tags]]) {
    flaws.push(...(await checkManifest(files, name, found)).filter((one) => !unread.has(one.file)));
  }
  flaws.push(...(await checkInfo(files, payload)));
  for (const name of sortTexts(files.keys())) {
    if (!name.startsWith(PAYLOAD) && !TAGS.includes(name) && name !== TAG_MANIFEST) {
      flaws.push(flaw("added", "no bag of ours has this file", name));
    }
  }
  return { digests, flaws };
}

async function checkManifest(files, name, found) {
  if (!files.has(name)) return [flaw("missing", "it is missing", name)];
  let data;
  try {
    data = await readWhole(files.get(name), LARGEST_MANIFEST);
  } catch (why) {
    if (!(why instanceof Refused)) throw why;
    return [flaw(why.rule, why.message, name)];
  }
  const [listed, flaws] = readManifest(data, name);
  const wrong = flaws.length;
  for (const file of sortTexts(new Set([...listed.keys(), ...found.keys()]))) {
    if (!found.has(file)) flaws.push(flaw("missing", `\`${name}\` lists it, and it is not there`, file));
    else if (!listed.has(file)) flaws.push(flaw("added", `\`${name}\` does not list it`, file));
    else if (listed.get(file) !== found.get(file).sha256) {
      flaws.push(flaw("changed", `its sum is not the one that \`${name}\` lists`, file));
    }
  }
  const order = [...listed.keys()];
  if (!wrong && order.join() !== sortTexts(order).join()) flaws.push(flaw("manifest-order", "its lines are not in order", name));
  return flaws;
}

function readManifest(data, name) {
  const listed = new Map();
  const wrong = [];
  const lines = new TextDecoder().decode(data).split(/(?<=\n)/);
  for (let number = 1; number <= Math.min(lines.length, MOST_FILES) && wrong.length <= MOST_WRONG_LINES; number += 1) {
    const line = lines[number - 1];
    const match = SUM_LINE.exec(line);
    if (!match) {
      if (line) wrong.push(flaw("manifest-line", `line ${number} is no sum and name as we write it`, name));
    } else if (listed.has(match[2])) wrong.push(flaw("manifest-line", `line ${number} lists \`${match[2]}\` again`, name));
    else listed.set(match[2], match[1]);
  }
  return [listed, wrong];
}

async function checkInfo(files, payload) {
  const name = "bag-info.txt";
  if (!files.has(name)) return [];
  let text;
  try {
    text = new TextDecoder().decode(await readWhole(files.get(name), LARGEST_INFO));
  } catch (why) {
    if (!(why instanceof Refused)) throw why;
    return [flaw(why.rule, why.message, name)];
  }
  const octets = [...payload.values()].reduce((sum, digest) => sum + digest.size, 0);
  const counted = `${octets}.${payload.size}`;
  const said = Array.from(text.matchAll(/^Payload-Oxum: ([^\n]*)$/gm), (match) => match[1]);
  if (said.length === 1 && said[0] === counted) return [];
  return [flaw("oxum", `Payload-Oxum is not \`${counted}\`, which is what is there`, name)];
}
