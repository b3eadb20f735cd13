// The acts of a drawing in their order: each is sent once under its own key until it is answered, and can be taken back.
// What waits is kept in the browser too, so that a closed page or a dead program loses nothing that was drawn.
import { newKey } from "./send.js";

const pause = (ms) => new Promise((done) => setTimeout(done, ms));
const LONGEST_WAIT_MS = 8000;

export class Book {
  /** `site` and `floor` name where things are kept; `tell` is called whenever something changed. */
  constructor({ site, floor, tell, refused, mend, stored, author = "" }) {
    Object.assign(this, { site, floor, tell, refused, mend, stored, author, silent: false, running: false, count: 0 });
    const kept = JSON.parse(sessionStorage.getItem(this.#own()) || '{"acts":[],"upto":0}');
    this.acts = kept.acts;
    this.upto = kept.upto;
    this.jobs = this.#left();
  }

  #own() { return `draw/${this.site}/${this.floor}`; }
  #shelf() { return `draw-waiting/${this.site}/`; }

  /** What an earlier page left unsent, in its order. */
  #left() {
    const names = Object.keys(localStorage).filter((name) => name.startsWith(this.#shelf())).sort();
    return names.map((name) => ({ ...JSON.parse(localStorage.getItem(name)), name }));
  }

  #keep() { sessionStorage.setItem(this.#own(), JSON.stringify({ acts: this.acts.map(({ before, ...act }) => act), upto: this.upto })); }

  #send(job) {
    this.count += 1;
    const name = `${this.#shelf()}${String(Date.now()).padStart(15, "0")}-${String(this.count).padStart(6, "0")}`;
    this.jobs.push({ ...job, name });
    localStorage.setItem(name, JSON.stringify(job));
    this.#keep();
    this.tell();
    this.run();
  }

  /** A new act; what was taken back before it cannot come again. */
  add(label, rows, before) {
    const act = { id: newKey(), label, rows, before };
    this.acts = [...this.acts.slice(0, this.upto), act];
    this.upto = this.acts.length;
    this.#send({ what: "rows", act: act.id, key: newKey(), rows });
    return act;
  }

  get last() { return this.acts[this.upto - 1] || null; }
  get next() { return this.acts[this.upto] || null; }
  get waiting() { return this.jobs.length; }

  undo() {
    const act = this.last;
    if (!act) return null;
    this.upto -= 1;
    this.#send({ what: "strike", act: act.id, key: newKey(), entries: act.entries || null });
    return act;
  }

  redo() {
    const act = this.next;
    if (!act) return null;
    this.upto += 1;
    act.entries = null; // those of the first time were struck out
    this.#send({ what: "rows", act: act.id, key: newKey(), rows: act.rows });
    return act;
  }

  /** Send what waits, one after another, again and again until it is answered. */
  async run() {
    if (this.running) return;
    this.running = true;
    for (let turn = 0; this.jobs.length; ) {
      const job = this.jobs[0];
      const said = await this.#asked(job);
      if (said === null) {
        turn += 1;
        this.silent = turn > 1;
        this.tell();
        await pause(Math.min(LONGEST_WAIT_MS, 250 * 2 ** turn));
        continue;
      }
      turn = 0;
      this.silent = false;
      await this.#answered(job, said);
    }
    this.running = false;
    this.tell();
    this.stored();
  }

  async #answered(job, said) {
    const act = this.acts.find((a) => a.id === job.act);
    if (said.faults && job.what === "rows" && !job.again && (await this.mend(said.faults, job))) return;
    this.jobs.shift();
    localStorage.removeItem(job.name);
    if (said.faults) {
      if (act && job.what === "rows") this.#drop(act);
      this.refused(said.faults, job);
    } else if (job.what === "rows") {
      if (act) act.entries = said.entries;
      for (const later of this.jobs) if (later.act === job.act && later.what === "strike") this.#named(later, said.entries);
    }
    this.#keep();
    this.tell();
  }

  #named(job, entries) {
    job.entries = entries;
    this.#rewrite(job);
  }

  #rewrite(job) {
    const { name, ...rest } = job;
    localStorage.setItem(name, JSON.stringify(rest));
  }

  /** Give what is not stored yet other rows: `change` makes new ones of the old; the first job is sent anew under a new key. */
  change(change) {
    for (const [i, job] of this.jobs.entries()) {
      if (job.what !== "rows") continue;
      Object.assign(job, { rows: change(job.rows) }, i === 0 ? { key: newKey(), again: true } : {});
      this.#rewrite(job);
      const act = this.acts.find((a) => a.id === job.act);
      if (act) act.rows = job.rows;
    }
    for (const act of this.acts) delete act.before; // they show the old tags
    this.#keep();
  }

  #drop(act) {
    const at = this.acts.indexOf(act);
    this.acts.splice(at, 1);
    if (at < this.upto) this.upto -= 1;
    const waiting = this.jobs.filter((j) => j.act === act.id);
    for (const job of waiting) localStorage.removeItem(job.name);
    this.jobs = this.jobs.filter((j) => j.act !== act.id);
  }

  /** The answer, or null when there is none yet. */
  async #asked(job) {
    const body = { key: job.key, ...(this.author ? { author: this.author } : {}) };
    if (job.what === "rows") body.rows = job.rows;
    else Object.assign(body, { entries: job.entries || [], why: "undone while drawing" });
    try {
      const answer = await fetch(job.what === "rows" ? "/api/rows" : "/api/strike", {
        method: "POST",
        headers: { "Content-Type": "application/json" },
        body: JSON.stringify(body),
      });
      if (answer.status >= 500) return null;
      const said = await answer.json();
      return answer.ok ? said : { faults: said.faults?.length ? said.faults : [said.error || "the program refused this"] };
    } catch (error) {
      return null;
    }
  }
}
