// Whether the totals in `figures.json` are the sums of its lines: in whole numbers of the smallest decimal, never rounded.
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

const add = (values) => values.reduce((sum, value) => sum + value, 0n);

class SumCheck {
  constructor(figures) {
    if (!isObject(figures) || !Array.isArray(figures.lines) || !isObject(figures.costs)) {
      throw new NoFigures(say("figures-unreadable:none"));
    }
    this.costs = figures.costs;
    this.shelf = figures.shelf;
    this.lines = figures.lines.map((line) => ({ sort: line && line.sort, landed: toUnits(line && line.landed) }));
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
    if (!Array.isArray(numbers) || !numbers.every((number) => isCount(number) && number < this.lines.length)) {
      throw new NoFigures(say("figures-unreadable:line"));
    }
    const lines = numbers.map((number) => this.lines[number]);
    return add(lines.filter((line) => !sorts || sorts.includes(line.sort)).map((line) => line.landed));
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
    this.list(this.costs.purchases).forEach((order, number) => {
      if (order.shares === undefined || order.paid === null) return;
      const paid = this.list(order.shares).flatMap((share) => share.lines);
      const { landed } = order.landed;
      this.compare(`costs.purchases[${number}]: shares`, landed, add(paid.map((amount) => toUnits(amount))));
    });
  }

  checkShelf() {
    if (this.shelf === undefined) return;
    const items = this.list(this.shelf.items);
    this.compare("shelf.worth", this.shelf.worth, add(items.map((item) => toUnits(item.worth))));
  }

  list(value) {
    if (!Array.isArray(value) || !value.every(isObject)) throw new NoFigures("a list of totals is missing");
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
    throw why;
  }
}
