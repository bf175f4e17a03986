// A practice sheet from its words, laid out as the one online, without drawings.
import { dayWords, make } from "./dom.js";

const WHOLE_DAY = { weekday: "long", day: "numeric", month: "long", year: "numeric" };

export function drawSheet(content) {
  return make("article", { class: "sheet usual", "aria-labelledby": "sheet-name" },
    make("header", { class: "sheet-head" }, make("div", {},
      make("h1", { id: "sheet-name" }, make("span", { class: "sheet-kind" }, "Practice sheet for"), " ", make("br"), content.name),
      make("p", { class: "sheet-facts" }, make("strong", {}, dayWords(content.day, WHOLE_DAY)),
        content.coach ? ` with ${content.coach}, ${content.academy}` : `, ${content.academy}`))),
    (content.closed || []).map((closed) => part("sheet-keep", `${closed.label}: ${closed.heading}`, closed.words)),
    content.keep && part("sheet-keep", "This was good: keep it", content.keep),
    content.coach_words?.length && part("sheet-words", "From your coach", ...content.coach_words),
    content.tests?.length && part("sheet-words", "Your tests today", ...content.tests),
    content.focuses.map((focus) => focusPart(focus, content.focuses.length > 1)),
    make("div", { class: "sheet-foot" },
      content.next_time && part("", "Next time", content.next_time),
      content.cautions.length > 0 && part("sheet-care", "Take care", ...content.cautions)));
}

const part = (name, heading, ...words) =>
  make("section", { class: name }, make("h2", {}, heading), words.map((each) => make("p", { class: "sheet-typed" }, each)));

function focusPart(focus, isNumbered) {
  return make("section", { class: "sheet-focus" },
    make("h2", {}, isNumbered && make("span", { class: "sheet-number" }, focus.number), isNumbered && " ", focus.heading),
    focus.own && make("p", {}, focus.own),
    focus.plain && make("p", {}, focus.plain),
    focus.feel && make("p", { class: "sheet-feel" }, make("strong", {}, "Feel"), ` ${focus.feel}`),
    focus.trial && make("p", { class: "sheet-trial" }, make("strong", {}, "A trial"), ` ${focus.trial}`),
    focus.drill && drillPart(focus.drill));
}

const said = (label, words) => words && make("p", {}, make("strong", {}, label), ` ${words}`);

function drillPart(drill) {
  return make("div", { class: "sheet-drill" },
    make("div", { class: "sheet-title" }, make("h3", {}, drill.name), make("p", { class: "sheet-dose" }, drill.dose)),
    make("div", { class: "sheet-columns" }, make("div", { class: "sheet-do" },
      said("You need", drill.equipment),
      said("Set up", drill.setup),
      drill.steps?.length && make("ol", {}, drill.steps.map((step) => make("li", {}, step))),
      said("Done well", drill.mark),
      said("Tip", drill.tip),
      said("Take care", drill.caution),
      said("Make it a game", drill.game))));
}
