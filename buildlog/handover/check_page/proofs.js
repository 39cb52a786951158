// Whether the proof that each entry's page carries leads from a leaf of the bag to the root of one of its seals.

const ENTRY_PAGE = /^data\/site\/entries\/[^/]+\.html$/;

// A page is only taken apart as text: the document that it makes runs nothing and loads nothing.
function readProof(html) {
  const page = new DOMParser().parseFromString(html, "text/html");
  const read = (id) => (page.getElementById(id) || { textContent: "" }).textContent;
  if (!page.getElementById("proof-leaf")) return null;
  return {
    leaf: encode(read("proof-leaf")),
    index: Number(read("proof-index")),
    size: Number(read("proof-size")),
    path: Array.from(page.querySelectorAll("#proof-path code"), (code) => code.textContent.trim()),
    root: read("proof-root").trim(),
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
