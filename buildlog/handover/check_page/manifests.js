// Whether a bag is whole: every file listed, none added, each with the sum and size of the manifests (RFC 8493).

const TAGS = ["bagit.txt", "bag-info.txt", "manifest-sha256.txt", "START-HERE.html"];
const MANIFEST = "manifest-sha256.txt";
const TAG_MANIFEST = "tagmanifest-sha256.txt";
const DECLARED = "BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n";
const SUM_LINE = new RegExp(`^([0-9a-f]{64})  ([A-Za-z0-9._/-]{1,${LONGEST_NAME}})\\n$`);

const AT_A_TIME = 64; // files that are read at the same time
const BYTES_AT_A_TIME = 1 << 25; // and bytes of them together, but for a file that is larger by itself

// The size and sum of each file that can be read, by name, and a flaw for each that cannot.
async function sumFiles(files, show) {
  const names = sortTexts(files.keys());
  const sizes = names.map((name) => files.get(name).size);
  const bytes = sizes.reduce((sum, size) => sum + size, 0);
  let count = 0, done = 0;
  const told = (length) => show(count, names.length, (done += length), bytes);
  const found = await workThrough(sizes, async (i) => {
    // Caught one by one: a file that cannot be read keeps no other from being told of.
    const sum = await files.get(names[i]).sum(told).catch((why) => why);
    count += 1;
    if (!isText(sum) && !(sum instanceof Refused)) throw sum;
    return sum;
  });
  const digests = new Map();
  const flaws = [];
  names.forEach((name, i) => {
    if (isText(found[i])) digests.set(name, { size: sizes[i], sha256: found[i] });
    else flaws.push(flaw(found[i].rule, found[i].message, name));
  });
  return [digests, flaws];
}

// What `work` makes of each number, in order. The next one is begun as soon as there is room, and waits for no slow neighbour.
async function workThrough(sizes, work) {
  const found = [];
  const going = new Set();
  let held = 0;
  for (let i = 0; i < sizes.length; i += 1) {
    while (going.size && (going.size >= AT_A_TIME || held + sizes[i] > BYTES_AT_A_TIME)) await Promise.race(going);
    held += sizes[i];
    const one = work(i).then((made) => {
      found[i] = made;
      held -= sizes[i];
      going.delete(one);
    });
    one.catch(() => {}); // told where it is waited for
    going.add(one);
  }
  await Promise.all(going);
  return found;
}

async function checkBag(files, show) {
  const [digests, flaws] = await sumFiles(files, show);
  const declared = digests.get("bagit.txt");
  if (!declared) {
    flaws.push(tell("no-bag", "bagit.txt"));
  } else if (declared.sha256 !== toHex(sha256(encode(DECLARED)))) {
    flaws.push(tell("declaration", "bagit.txt"));
  }
  const unread = new Set(flaws.map((one) => one.file));
  const payload = new Map([...digests].filter(([name]) => name.startsWith(PAYLOAD)));
  const tags = new Map(TAGS.filter((name) => digests.has(name)).map((name) => [name, digests.get(name)]));
  for (const [name, found] of [[MANIFEST, payload], [TAG_MANIFEST, tags]]) {
    // What cannot be read is told once, and not again as a file that is listed and not there.
    flaws.push(...(await checkManifest(files, name, found)).filter((one) => !unread.has(one.file)));
  }
  flaws.push(...(await checkInfo(files, payload)));
  for (const name of sortTexts(files.keys())) {
    if (!name.startsWith(PAYLOAD) && !TAGS.includes(name) && name !== TAG_MANIFEST) {
      flaws.push(tell("added:tag", name));
    }
  }
  return { digests, flaws };
}

async function checkManifest(files, name, found) {
  if (!files.has(name)) return [tell("missing", name)];
  let data;
  try {
    data = await readWhole(files.get(name), LARGEST_MANIFEST);
  } catch (why) {
    if (!(why instanceof Refused)) throw why;
    return [flaw(why.rule, why.message, name)];
  }
  const [listed, flaws] = readManifest(data, name);
  for (const file of sortTexts(new Set([...listed.keys(), ...found.keys()]))) {
    if (!found.has(file)) flaws.push(tell("missing:listed", file, { manifest: name }));
    else if (!listed.has(file)) flaws.push(tell("added", file, { manifest: name }));
    else if (listed.get(file) !== found.get(file).sha256) {
      flaws.push(tell("changed", file, { manifest: name }));
    }
  }
  const order = [...listed.keys()];
  if (!flaws.length && order.join() !== sortTexts(order).join()) flaws.push(tell("manifest-order", name));
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
      if (line) wrong.push(tell("manifest-line", name, { line: number }));
    } else if (listed.has(match[2])) wrong.push(tell("manifest-line:again", name, { line: number, name: match[2] }));
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
  return [tell("oxum", name, { counted })];
}
