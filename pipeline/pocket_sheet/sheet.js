// Draws the sheet: search, list, answer; a danger in the words stops it. Texts are set as text, never as markup.
"use strict";
const data = JSON.parse(document.getElementById("data").textContent);
const state = { typed: "", kind: "", open: null, model: "" };

function el(name, cls, text, ...children) {
  const made = document.createElement(name);
  if (cls) made.className = cls;
  if (text) made.textContent = text;
  made.append(...children.filter(Boolean));
  return made;
}
function button(cls, text, small, pressed, act) {
  const made = el("button", cls, text, small ? el("small", "", small) : null);
  made.type = "button";
  if (pressed !== null) made.setAttribute("aria-pressed", String(pressed));
  made.addEventListener("click", act);
  return made;
}
const capital = text => text.charAt(0).toUpperCase() + text.slice(1);
const key = entry => entry.kind + "|" + entry.symptom;
const DONE = { replace: "new one fitted", repair: "repaired", free: "freed", clean: "cleaned", adjust: "adjusted", reset: "reset",
  "clear blockage": "blockage cleared", descale: "descaled", reseat: "reseated", "correct installation": "put right", advise: "advised" };
const done = action => action.split(" + ").map(each => DONE[each] || each).join(" and ");

// Kinds named in the words choose the kind and are not searched for.
function asked() {
  const typed = plain(state.typed).split(" ").filter(Boolean);
  let kind = state.kind, words = typed;
  for (const name of Object.keys(data.kind_words)) {
    const parts = data.kind_words[name];
    if (parts.every(part => typed.includes(part)) && (!kind || kind === name || parts.length > data.kind_words[kind].length)) {
      kind = name; words = typed.filter(word => !parts.includes(word));
    }
  }
  return { kind, words: words.join(" ") };
}

function matches() {
  const { kind, words } = asked();
  const some = data.entries.filter(entry => !kind || entry.kind === kind);
  if (!words) return some.slice(0, 12);
  const order = nearest(words, data.wordings, 6);
  return some.filter(entry => order.includes(entry.symptom))
    .sort((a, b) => order.indexOf(a.symptom) - order.indexOf(b.symptom) || b.jobs - a.jobs).slice(0, 12);
}

function cautions(entry) {
  const box = el("div", "caution");
  box.setAttribute("role", "note");
  for (const text of entry.cautions.map(at => data.caution_texts[at])) box.append(el("p", "", text));
  return box;
}

function stop(dangers) {
  const box = el("section", "stop");
  box.setAttribute("role", "alert");
  for (const danger of dangers) box.append(el("p", "", data.danger.stop[danger]));
  box.append(el("p", "after", data.danger.after));
  return box;
}

function answer(entry, model) {
  const box = el("article", "answer"), of = entry.models.find(each => each.model === model);
  box.append(el("h2", "", capital(entry.symptom)), el("p", "soft", entry.kind + (model ? " · " + model : " · any model")));
  box.append(cautions(entry));
  const first = (of ? of.parts : entry.parts)[0], jobs = of ? of.parts.reduce((sum, part) => sum + part.jobs, 0) : entry.jobs;
  box.append(el("p", "said", "About " + first.jobs + " of " + jobs + " shown here: " + first.name + "."));
  box.append(el("h3", "", "Check in this order"));
  box.append(el("ol", "", "", ...entry.checks.map(step => el("li", "", capital(step.text), el("small", "", step.more)))));
  box.append(el("h3", "", "What fixed it, and held"));
  if (of) box.append(el("ul", "", "", ...of.parts.map(part => el("li", "", capital(part.name) + " · " + part.jobs + " on " + model))));
  box.append(el("ul", "", "", ...entry.parts.map(part => el("li", "", capital(part.name) + " · " + part.jobs + (of ? " on any model" : ""),
    el("small", "", part.actions.map(each => done(each.action) + " " + each.jobs +
      (each.minutes ? ", " + each.minutes[0] + " min, 8 in 10 within " + each.minutes[1] : "")).join("; "))))));
  if (entry.minutes) box.append(el("p", "", "Book " + entry.minutes[0] + " min; 8 in 10 are done in " + entry.minutes[1] + "."));
  box.append(el("h3", "", "After the work"), el("ul", "", "", ...data.after_work.map(text => el("li", "", text))));
  box.append(el("p", "soft", "Jobs that ended fixed and have not come back, to " + data.until + ". Counts are to the nearest 5 and none is of " +
    "fewer than ten, so it may be something that is not shown here. Check before you fit."));
  return box;
}

function models(entry) {
  if (!entry.models.length) return null;
  return el("div", "chips", "", ...entry.models.map(each => button("chip", each.model, "", each.model === state.model, () => {
    state.model = state.model === each.model ? "" : each.model; draw();
  })));
}

const field = el("input");
field.type = "search"; field.id = "field"; field.placeholder = "What does the customer see?"; field.autocomplete = "off";
field.setAttribute("aria-label", "What the customer sees"); field.spellcheck = false;
field.addEventListener("input", () => { state.typed = field.value; state.open = null; state.model = ""; draw(); });
const kinds = el("div", "chips row"), result = el("div");
result.id = "result"; result.setAttribute("aria-live", "polite");

function draw() {
  kinds.replaceChildren(...Object.keys(data.kind_words).map(name => button("chip", name, "", name === state.kind, () => {
    state.kind = state.kind === name ? "" : name; state.open = null; state.model = ""; draw();
  })));
  const dangers = dangersIn(state.typed, data.danger);
  if (dangers.length) return result.replaceChildren(stop(dangers), el("div", "caution", "", el("p", "", data.general)));
  if (state.open) {
    const back = button("back", "‹ All symptoms", "", null, () => { state.open = null; state.model = ""; draw(); });
    result.replaceChildren(back, ...[models(state.open), answer(state.open, state.model)].filter(Boolean));
    return window.scrollTo(0, 0);
  }
  const found = matches();
  const list = found.map(entry => button("hit", capital(entry.symptom), entry.kind + " · " + entry.jobs + " jobs", null,
    () => { state.open = entry; draw(); }));
  const none = el("p", "", "Nothing on this sheet reads like that. Try other words, or ask the shop.");
  result.replaceChildren(el("p", "soft", state.typed || state.kind ? "Nearest first" : "Seen most often"), ...(list.length ? list : [none]),
    el("div", "caution", "", el("p", "", data.general)),
    el("details", "", "", el("summary", "", "Shock, smoke, fire, gas, flood, burning smell?"), stop(Object.keys(data.danger.stop))));
}

// On paper: what is open; else every symptom, each on a sheet of its own.
window.addEventListener("beforeprint", () => {
  const some = state.open ? [state.open] : data.entries;
  document.getElementById("print").replaceChildren(...some.map(entry => answer(entry, state.open ? state.model : "")));
});
window.addEventListener("afterprint", () => document.getElementById("print").replaceChildren());

const days = Math.floor((Date.now() - Date.parse(data.to + "T00:00:00Z")) / 864e5);
if (days > data.old_after_days) {
  const bar = document.getElementById("old");
  bar.hidden = false;
  bar.textContent = "Out of date: the log of this sheet ends " + days + " days ago. Get a new one from the shop.";
}
document.getElementById("main").replaceChildren(field, kinds, result, el("p", "soft", "Pocket sheet. Log to " + data.until + ". Works without a network."));
draw();
