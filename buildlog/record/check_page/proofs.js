// Whether the proof that each entry's page carries leads from a leaf of the bag to the root of one of its seals.

const LARGEST_PAGE = 8000000;
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

function explainProof(proof, seals) {
  const seal = seals.seals.find((one) => one.root === proof.root && one.leaves === proof.size);
  if (!seal) return "it leads to the root of no seal that is here";
  if (!proof.path.every(isHash)) return "its path is not made of sums";
  const root = climb(hashLeaf(proof.leaf), proof.index, proof.size, proof.path.map(fromHex));
  if (!root || toHex(root) !== proof.root) return `worked out, it does not lead to the root of \`${seal.name}\``;
  return "";
}

async function answerProofs(files, seals, tell) {
  const flaws = [];
  const pages = sortTexts([...files.keys()].filter((name) => ENTRY_PAGE.test(name)));
  let count = 0;
  for (let i = 0; i < pages.length; i += 1) {
    tell(i, pages.length);
    try {
      const proof = readProof(decode(await readWhole(files.get(pages[i]), LARGEST_PAGE)));
      const why = proof ? explainProof(proof, seals) : "";
      count += proof ? 1 : 0;
      if (why) flaws.push(flaw("proof-wrong", why, pages[i]));
    } catch (error) {
      if (!(error instanceof Refused) && !(error instanceof NotCanonical)) throw error;
      flaws.push(flaw("unreadable", error.message, pages[i]));
    }
  }
  if (!flaws.length && !count) return leaveOpen("no page of an entry carries one");
  return judge(flaws, `${count} of ${pages.length} entries’ pages carry a proof, and each leads to its seal`);
}
