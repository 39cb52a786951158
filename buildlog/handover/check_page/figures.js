// Whether `figures.json` agrees with itself: totals are the sums of their lines, in whole numbers of the smallest decimal and
// never rounded; what is open has not ended; counts, days, and the entries that are named. `figure_sums.py` does the same.
// What is read here has had the same names in every format so far.

const FIGURES = "data/figures.json";
const WAYS = ["by_month", "by_system", "by_kind", "by_supplier", "by_fault", "by_entry"];
const DECIMALS = 12;

class NoFigures extends Error {}

// A decimal text as an integer of 10^-12; figures are texts, so that none is rounded on the way.
function toUnits(text) {
  const match = isText(text) ? /^(-?)(\d{1,30})(?:\.(\d{1,12}))?$/.exec(text) : null;
  if (!match) throw new NoFigures(say("figures-unreadable:amount", { text: tame(String(text)) }));
  const units = BigInt(match[2] + (match[3] || "").padEnd(DECIMALS, "0"));
  return match[1] ? -units : units;
}

function toText(units) {
  const digits = String(units < 0n ? -units : units).padStart(DECIMALS + 1, "0");
  const text = `${digits.slice(0, -DECIMALS)}.${digits.slice(-DECIMALS)}`.replace(/0+$/, "").replace(/\.$/, "");
  return units < 0n ? `-${text}` : text;
}

// A day as a number of days; days are never read by `Date` from a text, as it takes many that are none.
function toDays(text) {
  const match = isText(text) ? /^(\d{4})-(\d{2})-(\d{2})$/.exec(text) : null;
  const day = new Date(0);
  if (match) day.setUTCFullYear(Number(match[1]), Number(match[2]) - 1, Number(match[3]));
  if (!match || match[1] === "0000" || day.getUTCMonth() + 1 !== Number(match[2]) || day.getUTCDate() !== Number(match[3])) {
    throw new NoFigures(say("figures-unreadable:day", { text: tame(isText(text) ? text : "") }));
  }
  return day.getTime() / 86400000;
}

const add = (values) => values.reduce((sum, value) => sum + value, 0n);

// The value of a key, which has to be there.
function read(record, key) {
  if (!isObject(record) || record[key] === undefined) throw new NoFigures(say("figures-unreadable:none"));
  return record[key];
}

class SumCheck {
  constructor(figures) {
    if (!isObject(figures) || !Array.isArray(figures.lines) || !isObject(figures.costs)) {
      throw new NoFigures(say("figures-unreadable:none"));
    }
    this.costs = figures.costs;
    this.shelf = figures.shelf;
    this.plans = figures.plans;
    this.deadlines = figures.deadlines || [];
    this.failures = figures.failures || [];
    this.asOf = figures.as_of;
    this.entries = new Set(Array.isArray(figures.entries) ? figures.entries : []);
    this.lines = figures.lines.map((line) => ({ ...line, landed: toUnits(line && line.landed) }));
    this.flaws = [];
    this.count = 0;
  }

  compare(name, written, made) {
    this.count += 1;
    if (toUnits(written) !== made) {
      this.flaws.push(tell("sum-wrong", FIGURES, { name: tame(name), written: tame(written), made: toText(made) }));
    }
  }

  pick(numbers, sorts = null) {
    return this.pickWhere(numbers, (line) => !sorts || sorts.includes(line.sort));
  }

  pickWhere(numbers, takes) {
    if (!Array.isArray(numbers) || !numbers.every((number) => isCount(number) && number < this.lines.length)) {
      throw new NoFigures(say("figures-unreadable:line"));
    }
    return add(numbers.map((number) => this.lines[number]).filter(takes).map((line) => line.landed));
  }

  run() {
    const { costs } = this;
    this.compare("costs.spent", costs.spent, this.pick(costs.lines));
    this.compare("costs.paid", costs.paid, this.pick(costs.lines, ["paid"]));
    this.compare("costs.refunded", costs.refunded, -this.pick(costs.lines, ["refund"]));
    this.compare("costs.committed", costs.committed, this.pick(costs.committed_lines));
    this.compare("costs.recovered", costs.recovered, this.pick(costs.recovered_lines));
    this.compare("costs.net", costs.net, toUnits(costs.spent) - toUnits(costs.recovered));
    WAYS.forEach((way) => this.checkWay(way));
    this.checkMonths();
    this.checkBudget();
    this.checkOrders();
    this.checkShelf();
    this.checkForecast();
    this.checkPlans();
    this.checkDates();
    return this.flaws;
  }

  // Each way of splitting the money makes it up, and has each line once.
  checkWay(way) {
    const totals = this.list(this.costs[way]);
    totals.forEach((total) => this.compare(`costs.${way}: ${total.name}`, total.amount, this.pick(total.lines)));
    this.compare(`costs.${way}`, this.costs.spent, add(totals.map((total) => toUnits(total.amount))));
    // The amounts could add up with one line counted twice and another left out.
    const numbers = totals.flatMap((total) => total.lines).sort((a, b) => a - b);
    if (numbers.join() !== [...this.costs.lines].sort((a, b) => a - b).join()) {
      this.flaws.push(tell("sum-wrong:lines", FIGURES, { way }));
    }
  }

  checkMonths() {
    let running = 0n;
    for (const month of this.list(this.costs.months)) {
      this.compare(`${month.month}: spent`, month.spent, this.pick(month.lines, ["paid", "refund"]));
      this.compare(`${month.month}: recovered`, month.recovered, this.pick(month.lines, ["sold"]));
      this.compare(`${month.month}: net`, month.net, toUnits(month.spent) - toUnits(month.recovered));
      running += toUnits(month.net);
      this.compare(`${month.month}: running`, month.running, running);
    }
    this.compare("the last month: running", this.costs.net, running);
  }

  checkBudget() {
    for (const row of this.list(this.costs.budget)) {
      const bound = toUnits(row.spent) + toUnits(row.committed);
      // Records of an earlier format know of nothing that is wanted.
      this.compare(`budget ${row.system}: forecast`, row.forecast, bound + toUnits(row.wanted || "0"));
      this.compare(`budget ${row.system}: left`, row.left, toUnits(row.budget) - bound);
    }
  }

  // What was paid of an order on each day makes what it cost, once nothing is left to pay; since format 3.
  checkOrders() {
    const { costs } = this;
    this.list(this.costs.purchases).forEach((order, number) => {
      if (order.shares === undefined || order.paid === null) return;
      const paid = this.list(order.shares).flatMap((share) => share.lines);
      const { landed } = order.landed;
      this.compare(`costs.purchases[${number}]: shares`, landed, add(paid.map((amount) => toUnits(amount))));
    });
    costs.purchases.forEach((order, number) => {
      if (order.payments === undefined) return;
      const settled = this.list(order.payments).map((one) => one.settled);
      const credited = this.list(order.credited).map((one) => one.amount);
      const made = add([...settled, ...credited, order.left].map(toUnits));
      this.compare(`costs.purchases[${number}]: total`, order.landed.total, made);
    });
  }

  checkShelf() {
    if (this.shelf === undefined) return;
    const items = this.list(this.shelf.items);
    this.compare("shelf.worth", this.shelf.worth, add(items.map((item) => toUnits(item.worth))));
    items.forEach((item, number) => {
      this.compare(`shelf.items[${number}]: qty`, item.qty, add(this.list(item.lying).map((some) => toUnits(some.qty))));
    });
  }

  // What is wanted and not ordered yet makes, with what is spent and committed, the forecast; since format 3.
  checkForecast() {
    const { costs } = this;
    if (costs.wanted_items === undefined) return;
    const items = this.list(costs.wanted_items);
    const wanted = (takes) => add(items.filter((item) => read(item, "state") === "open" && read(item, "about") !== null)
      .filter(takes).map((item) => toUnits(item.about)));
    this.compare("costs.wanted", costs.wanted, wanted(() => true));
    const rows = this.list(costs.forecast_by_system);
    const whole = toUnits(costs.spent) + toUnits(costs.committed) + toUnits(costs.wanted);
    this.compare("costs.forecast", costs.forecast, whole);
    this.compare("costs.forecast_by_system", costs.forecast, add(rows.map((row) => toUnits(row.forecast))));
    rows.forEach((row) => {
      const name = `forecast ${read(row, "system") === null ? "of no system" : row.system}`;
      this.checkSystem(name, row, wanted);
      this.compare(`${name}: forecast`, row.forecast, toUnits(row.spent) + toUnits(row.committed) + toUnits(row.wanted));
    });
    costs.budget.forEach((row) => this.checkSystem(`budget ${row.system}`, row, wanted));
    if (read(costs, "budget_total") !== null) {
      ["budget", "spent", "committed", "wanted", "left", "forecast"].forEach((key) => {
        this.compare(`budget: ${key}`, costs.budget_total[key], add(costs.budget.map((row) => toUnits(row[key]))));
      });
    }
    items.forEach((item, number) => this.checkWish(`costs.wanted_items[${number}]`, item));
  }

  checkSystem(name, row, wanted) {
    const ofIt = (one) => one.system === row.system;
    this.compare(`${name}: spent`, row.spent, this.pickWhere(this.costs.lines, ofIt));
    this.compare(`${name}: committed`, row.committed, this.pickWhere(this.costs.committed_lines, ofIt));
    this.compare(`${name}: wanted`, row.wanted, wanted(ofIt));
  }

  checkWish(name, item) {
    this.checkEnd(name, item);
    this.checkPlace(name, item, read(item, "entry") === null ? "log.yaml" : `entries/${item.entry}.md`);
  }

  // What is still to do, and what of each list is ticked; since format 3.
  checkPlans() {
    if (this.plans === undefined) return;
    const items = this.list(read(this.plans, "items"));
    items.forEach((item, number) => this.checkItem(`plans.items[${number}]`, item));
    const kept = items.some((item) => item.ended_in !== null);
    if (read(this.plans, "kept") !== kept) {
      this.tell("sum-wrong:state", "plans.kept", { written: kept ? "false" : "true", made: kept ? "true" : "false" });
    }
    this.list(read(this.plans, "lists")).forEach((list, number) => this.checkList(`plans.lists[${number}]`, list));
  }

  // What runs out, and what failed within its warranty; since format 3.
  checkDates() {
    this.list(this.deadlines).forEach((item, number) => {
      const name = `deadlines[${number}]`, left = toDays(read(item, "until")) - toDays(this.asOf);
      if (!Number.isSafeInteger(item.days_left)) throw new NoFigures(say("figures-unreadable:none"));
      this.compare(`${name}: days_left`, String(item.days_left), BigInt(left) * 10n ** BigInt(DECIMALS));
      const made = left < 0 ? "overdue" : left <= NOTICE_DAYS ? "due" : "later";
      if (read(item, "state") !== made) {
        this.tell("sum-wrong:state", name, { written: isText(item.state) ? tame(item.state) : "", made });
      }
      this.checkEntry(name, read(item, "entry"));
      this.checkPlace(name, item, `entries/${item.entry}.md`);
    });
    this.list(this.failures).forEach((item, number) => {
      const name = `failures[${number}]`;
      if (toDays(read(item, "date")) > toDays(read(item, "until"))) {
        this.tell("sum-wrong:state", name, { written: item.date, made: item.until });
      }
      this.checkEntry(name, read(item, "entry"));
      this.checkPlace(name, item, `entries/${item.entry}.md`);
    });
  }

  checkItem(name, item) {
    this.checkEnd(name, item);
    this.checkPair(name, item, "ended", "ended_in");
    const until = item.ended === null ? this.asOf : item.ended;
    this.checkCount(`${name}: days`, read(item, "days"), toDays(until) - toDays(read(item, "since")));
    this.checkPlace(name, item, `entries/${item.entry}.md`);
  }

  checkList(name, list) {
    const items = this.list(read(list, "items"));
    const ticked = items.filter((item) => read(item, "ticked") !== null).length;
    this.checkCount(`${name}: ticked`, read(list, "ticked"), ticked);
    this.checkCount(`${name}: missing`, read(list, "missing"), items.length - ticked);
    this.checkPlace(name, list, "log.yaml");
    items.forEach((item, number) => {
      const one = `${name}.items[${number}]`;
      this.checkPair(one, item, "ticked", "ticked_in");
      this.checkPair(one, item, "worked_on", "worked_in");
      this.checkEntry(one, item.ticked_in);
      this.checkEntry(one, item.worked_in);
    });
  }

  // Whether something is open as long as no entry ends it and no longer; and whether its entries are counted.
  checkEnd(name, item) {
    const open = read(item, "ended_in") === null;
    if ((read(item, "state") === "open") !== open) {
      const written = isText(item.state) ? tame(item.state) : "";
      this.tell("sum-wrong:state", name, { written, made: open ? "open" : "ended" });
    }
    this.checkEntry(name, read(item, "entry"));
    this.checkEntry(name, item.ended_in);
  }

  checkPair(name, item, one, other) {
    if ((read(item, one) === null) !== (read(item, other) === null)) this.tell("sum-wrong:pair", name, { one, other });
  }

  checkEntry(name, entry) {
    if (entry === null || this.entries.has(entry)) return;
    this.tell("sum-wrong:entry", name, { entry: isText(entry) ? tame(entry) : "" });
  }

  checkPlace(name, item, file) {
    const place = isText(read(item, "place")) ? item.place : "";
    if (!place.startsWith(`${file}:`)) this.tell("sum-wrong:place", name, { place: tame(place) });
  }

  checkCount(name, written, made) {
    if (!isCount(written)) throw new NoFigures(say("figures-unreadable:none"));
    this.compare(name, String(written), BigInt(made) * 10n ** BigInt(DECIMALS));
  }

  tell(key, name, values) {
    this.flaws.push(tell(key, FIGURES, { name, ...values }));
  }

  list(value) {
    if (!Array.isArray(value) || !value.every(isObject)) throw new NoFigures(say("figures-unreadable:none"));
    return value;
  }
}

async function answerSums(files) {
  if (!files.has(FIGURES)) return judge([flaw("missing", "it is missing", FIGURES)], "");
  try {
    const data = await readWhole(files.get(FIGURES), LARGEST_FIGURES);
    if (countValues(data) > MOST_FIGURES) return leaveOpen(say("too-many-values", { most: MOST_FIGURES }));
    const figures = JSON.parse(decode(data));
    const format = isObject(figures) ? figures.format : 0;
    if (!isCount(format) || format < 1) throw new NoFigures(say("figures-unreadable:none"));
    if (format > FIGURES_FORMAT) return leaveOpen(`it is in format ${format}, but this page only knows formats up to ${FIGURES_FORMAT}`);
    const check = new SumCheck(figures);
    return judge(check.run(), `${check.count} totals over ${check.lines.length} lines`);
  } catch (why) {
    if (why instanceof Refused) return judge([flaw(why.rule, why.message, FIGURES)], "");
    if (why instanceof NoFigures || why instanceof NotCanonical || why instanceof SyntaxError) {
      return judge([flaw("figures-unreadable", tame(why.message), FIGURES)], "");
    }
    // What a total is to be made of is not there, or is something else.
    if (why instanceof TypeError) return judge([flaw("figures-unreadable", say("figures-unreadable:none"), FIGURES)], "");
    throw why;
  }
}
