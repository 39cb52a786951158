// What the page does: takes a folder or a zip, and shows the answers. A stranger's words are only ever set as text.

const CLASSES = { holds: "holds", fails: "fails", "cannot be checked": "open" };
const find = (id) => document.getElementById(id);

function make(tag, text = "", name = "") {
  const element = document.createElement(tag);
  element.textContent = text;
  if (name) element.className = name;
  return element;
}

// Words with parts between backquotes as code.
function makeWords(tag, text, name = "") {
  const element = make(tag, "", name);
  text.split("`").forEach((part, i) => element.append(i % 2 ? make("code", part) : part));
  return element;
}

function makeList(found, name) {
  const list = make("ul", "", name);
  for (const one of found) {
    const item = makeWords("li", one.message, one.rule);
    if (one.file) item.prepend(make("code", one.file, "file"), ": ");
    list.append(item);
  }
  return list;
}

// What has to be known before the answers are read.
function showFirst(answers) {
  const first = Object.values(answers).flatMap((answer) => answer.notes).filter((one) => FIRST.includes(one.rule));
  find("first").hidden = !first.length;
  find("first-list").replaceChildren(...makeList(first, "notes").children);
}

const TONES = { "verdict holds": "holds", "verdict unsealed": "open" };

// The one sentence, what was checked and what to ask: all that somebody reads who knows none of the words below it.
function showPlainly(report) {
  const [rule, says] = judgeAll(report.answers, report.last);
  const told = !find("first").hidden;
  find("verdict").textContent = `${says}.`;
  if (told) find("verdict").append(" ", make("span", `${say("verdict first")}.`));
  find("verdict").className = told && TONES[rule] ? "open" : TONES[rule] || "fails";
  find("kept").textContent = report.code && `${report.code}.`;
  find("kept").hidden = !report.code;
  find("plain").hidden = ["verdict refused", "verdict no record"].includes(rule);
  find("checked").replaceChildren(...listChecked(report.answers).map(([state, words]) => {
    const row = make("li", "", CLASSES[state]);
    row.append(make("span", SHORT_STATES[state], "state"), make("span", words));
    return row;
  }));
  find("asks").replaceChildren(...report.asks.map((one) => make("li", one.message, one.rule)));
  find("asks-stated").textContent = report.asks.length ? say("ask stated") : `${say("ask none")}.`;
}

function showAnswer(key, number, title, answer) {
  const row = make("li", "", CLASSES[answer.state]);
  row.id = `answer-${key}`;
  const body = make("div");
  body.append(make("h3", number ? `${number}. ${title}` : title), makeWords("p", answer.says, "says"));
  if (answer.flaws.length) body.append(makeList(answer.flaws, "flaws"));
  const notes = answer.notes.filter((one) => !FIRST.includes(one.rule));
  if (notes.length) body.append(makeList(notes, "notes"));
  row.append(make("p", answer.state, "state"), body);
  return row;
}

function showReport(report) {
  const answers = Object.entries(report.answers);
  const rows = Object.entries(QUESTIONS).map(([key, title], i) => showAnswer(key, i + 1, title, report.answers[key]));
  rows.push(...Object.entries(BESIDE).map(([key, title]) => showAnswer(key, 0, title, report.answers[key])));
  find("list").replaceChildren(...rows);
  showFirst(report.answers);
  showPlainly(report);
  const counts = ["fails", "holds", "cannot be checked"].map((state) => [answers.filter(([, answer]) => answer.state === state).length, state]);
  const verbs = { fails: ["fails", "fail"], holds: ["holds", "hold"], "cannot be checked": ["cannot be checked", "cannot be checked"] };
  const words = counts.filter(([count]) => count).map(([count, state]) => `${count} ${verbs[state][count > 1 ? 1 : 0]}`);
  find("sum").textContent = `Of ${answers.length} points, ${words.join(", ")}${counts[0][0] ? "." : " here."}`;
  find("sum").className = counts[0][0] ? "fails" : "";
  find("about").textContent = report.about;
  find("result").hidden = false;
  find("lead").hidden = true;
  find("again").hidden = false;
  find("verdict").focus(); // it stands above the buttons, and whoever hears the page is told it first
  find("progress").textContent = "";
  find("stop").hidden = true;
}

function takeCode() {
  try {
    return readCode(find("code").value);
  } catch (why) {
    if (!(why instanceof NotACode)) throw why;
    throw new NotShown(`The code you typed cannot be read: ${why.message}.`);
  }
}

let run = 0;
let given = null; // how the package that was given last is opened

// Only the run that was asked for last is shown; one before it ends at the next file or chunk.
async function start(open) {
  const mine = (run += 1);
  given = open;
  find("result").hidden = true;
  find("about").textContent = "";
  find("progress").textContent = "reading";
  find("stop").hidden = false;
  let told = performance.now(), pause = null;
  const show = async (text) => {
    if (mine !== run) throw new Stopped();
    if (!pause && performance.now() - told >= 100) {
      find("progress").textContent = text;
      // All that is read meanwhile waits here too: the page is drawn, and a click is taken.
      pause = new Promise((done) => setTimeout(done, 8)).then(() => {
        told = performance.now();
        pause = null;
      });
    }
    if (pause) await pause;
  };
  try {
    const report = await checkRecord(open, show, takeCode());
    if (mine === run) showReport(report);
  } catch (error) {
    if (mine !== run) return;
    find("stop").hidden = true;
    const shown = error instanceof NotShown ? error.message : `This page failed and has checked nothing: ${error.message}`;
    find("progress").textContent = shown;
  }
}

function stop() {
  run += 1;
  find("stop").hidden = true;
  find("progress").textContent = "Stopped. There is no result until the whole record has been read.";
}

// ── what is dropped ────────────────────────────────────────────────────────────────────────────────────────────────

class NotShown extends Error {}

// Every file below a dropped folder, with its path from above it; `list` gives what stands in a folder, `open` a file.
async function walk(top, list, open) {
  const found = [];
  const waiting = [[top, top.name]];
  while (waiting.length) {
    const [item, path] = waiting.pop();
    if (path.split("/").length > DEEPEST_NAME + 2) throw refuse("name-too-long", tame(path));
    const below = await list(item);
    if (below) waiting.push(...below.map((one) => [one, `${path}/${one.name}`]));
    else found.push([path, await open(item)]);
    // While it goes: a folder of millions would fill the memory before it could be refused.
    if (found.length + waiting.length > MOST_FILES) throw refuse("too-many-files", "", { most: MOST_FILES });
  }
  return found;
}

async function listHandle(handle) {
  if (handle.kind !== "directory") return null;
  const all = [];
  for await (const one of handle.values()) {
    all.push(one);
    if (all.length > MOST_FILES) break;
  }
  return all;
}

async function listEntry(entry) {
  if (!entry.isDirectory) return null;
  const reader = entry.createReader();
  const all = [];
  for (;;) {
    const some = await new Promise((done, fail) => reader.readEntries(done, fail));
    if (!some.length || all.length > MOST_FILES) return all;
    all.push(...some);
  }
}

// Browsers have two ways to give a dropped folder; one that is opened from a disk may refuse either.
async function readDropped(handle, entry) {
  const ways = [
    async () => walk(await handle, listHandle, (one) => one.getFile()),
    async () => walk(entry, listEntry, (one) => new Promise((done, fail) => one.file(done, fail))),
  ];
  for (const way of ways) {
    try {
      return await way();
    } catch (why) {
      if (why instanceof Refused) throw why;
    }
  }
  throw new NotShown("This browser does not let the page read a dropped folder. Choose it with the button instead.");
}

function takeDrop(transfer) {
  const [item] = transfer.items;
  const [file] = transfer.files;
  if (transfer.items.length !== 1) return start(async () => { throw new NotShown("Drop one folder, or one zip."); });
  const entry = item.webkitGetAsEntry();
  if (!entry || !entry.isDirectory) return start(() => openZip(file));
  // Asked for now: what was dropped is gone when this returns.
  const handle = item.getAsFileSystemHandle ? item.getAsFileSystemHandle() : Promise.reject(new Error("no such way"));
  handle.catch(() => {}); // told where it is waited for
  return start(async (show) => openFolder(await readDropped(handle, entry), show));
}

function setUp() {
  find("folder").addEventListener("change", (event) => {
    const files = Array.from(event.target.files, (file) => [file.webkitRelativePath || file.name, file]);
    if (files.length) start((show) => openFolder(files, show));
  });
  find("zip").addEventListener("change", (event) => {
    if (event.target.files.length) start(() => openZip(event.target.files[0]));
  });
  find("stop").addEventListener("click", stop);
  find("again").addEventListener("click", () => start(given));
  const over = (on) => (event) => {
    event.preventDefault();
    find("drop").classList.toggle("over", on);
  };
  find("folder").webkitdirectory = true; // no standard names it, and every browser has it
  window.addEventListener("dragover", over(true));
  window.addEventListener("dragleave", over(false));
  window.addEventListener("drop", (event) => {
    over(false)(event);
    takeDrop(event.dataTransfer);
  });
}

setUp();
