// Whether the proof that each entry's page carries leads from a leaf of the bag to the root of one of its seals.

const ENTRY_PAGE = /^data\/site\/(?:entries|pages)\/[^/]+\.html$/;

const ENTITIES = { "&amp;": "&", "&lt;": "<", "&gt;": ">", "&#34;": '"', "&#39;": "'" };
const unescape = (text) => text.replace(/&(?:amp|lt|gt|#34|#39);/g, (one) => ENTITIES[one]);

// The text behind a mark up to the next tag; empty where the mark is missing.
function readBehind(html, mark) {
  const at = html.indexOf(mark), start = at < 0 ? -1 : html.indexOf(">", at) + 1;
  return start < 1 ? "" : unescape(html.slice(start).split("<", 1)[0]);
}

// A page is only looked through as text, as the theme writes it. A browser's own reader of pages takes minutes over some
// that were made for that: of tags in each other, twice as many take four times as long.
function readProof(html) {
  const read = (id) => readBehind(html, `id="proof-${id}"`);
  if (!html.includes('id="proof-leaf"')) return null;
  const at = html.indexOf('id="proof-path"');
  const list = at < 0 ? "" : html.slice(at).split("</ol>", 1)[0];
  return {
    leaf: encode(read("leaf")),
    index: Number(read("index")),
    size: Number(read("size")),
    path: list.split("<code>").slice(1).map((text) => text.split("<", 1)[0].trim()),
    root: read("root").trim(),
  };
}

function explainProof(proof, roots) {
  // A root of the bag's seals, and not just the one that the page tells: any page can lead to a root of its own.
  const seal = roots.get(`${proof.root} ${proof.size}`);
  if (!seal) return say("proof-wrong");
  if (!proof.path.every(isHash)) return say("proof-wrong:path");
  const root = climb(hashLeaf(proof.leaf), proof.index, proof.size, proof.path.map(fromHex));
  if (!root || toHex(root) !== proof.root) return say("proof-wrong:root", { seal: seal.name });
  return "";
}

async function answerProofs(files, seals, show) {
  const flaws = [];
  const pages = sortTexts([...files.keys()].filter((name) => ENTRY_PAGE.test(name)));
  const roots = new Map(seals.seals.map((seal) => [`${seal.root} ${seal.leaves}`, seal]));
  let count = 0;
  for (let i = 0; i < pages.length; i += 1) {
    await show(i, pages.length);
    try {
      const proof = readProof(decode(await readWhole(files.get(pages[i]), LARGEST_PAGE)));
      const why = proof ? explainProof(proof, roots) : "";
      count += proof ? 1 : 0;
      if (why) flaws.push(flaw("proof-wrong", why, pages[i]));
    } catch (error) {
      if (!(error instanceof Refused) && !(error instanceof NotCanonical)) throw error;
      flaws.push(flaw("unreadable", error.message, pages[i]));
    }
  }
  if (!flaws.length && !count) return leaveOpen("no entry’s page carries one");
  return judge(flaws, `${count} of ${pages.length} entries’ pages carry a proof, and each leads to its seal`);
}
