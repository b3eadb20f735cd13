// What can be done with an act of the walk: answer it, put it off, do something else.

import { keepAnswer } from "./keeping.js";
import { fieldsOf } from "./next.js";
import { sendNow } from "./sending.js";
import { rest } from "./thumb.js";
import { putOffAct } from "./walk.js";
import { NOT_KEPT, PUT_OFF } from "./words.js";

/** The doings, over what the page gives: `page`, and ways to say, to show a sheet, to tell of a change and of what was kept. */
export function doesOfWalk({ page, say, show, changed, isKept }) {
  let keeping = false;

  /** Keep what answers an act, and show the next one. */
  async function answered(act, one) {
    const { fields, says } = fieldsOf(act, one, document.getElementById("act"));
    if (says) return say(says);
    if (keeping) return;
    keeping = true;
    try {
      const kept = await keepAnswer(fields, act.room || page.place);
      await changed();
      show("next");
      isKept(kept, "next");
    } catch {
      say(NOT_KEPT);
    } finally {
      keeping = false;
    }
  }

  return {
    answered,
    next: () => (show("next"), sendNow()),
    instead: () => show("instead"),
    skip: (act) => {
      putOffAct(page.walk, act);
      show("next");
      say(PUT_OFF);
      rest(document.getElementById("acts"), "next");
    },
  };
}
