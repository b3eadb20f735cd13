// One act of a person to the record: sent again under the same key until it is answered, so it counts once.
export function newKey() {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  return Array.from(bytes, (b) => b.toString(16).padStart(2, "0")).join("");
}

const pause = (ms) => new Promise((done) => setTimeout(done, ms));

export async function send(address, body, { tries = 5 } = {}) {
  for (let turn = 1; ; turn += 1) {
    try {
      const answer = await fetch(address, {
        method: "POST",
        headers: { "Content-Type": "application/json" },
        body: JSON.stringify(body),
      });
      const said = await answer.json();
      return { ok: answer.ok, ...said, faults: said.faults || (said.error ? [said.error] : []) };
    } catch (error) {
      if (turn >= tries) return { ok: false, faults: ["The program does not answer. Nothing is lost here; start it and try again."] };
      await pause(300 * turn);
    }
  }
}
