// The search of the sheet: which wordings come nearest to what was typed, and which dangers it reports.
// The same as pipeline/vocabulary/nearest.py and dangers.py; a test holds the two against each other.
"use strict";
const NEAR = 0.55, BEHIND = 0.25, EXTRA = 0.06;

function plain(text) {
  return text.toLowerCase().replace(/ß/g, "ss").normalize("NFKD").replace(/['’`]|\p{M}/gu, "")
    .replace(/[^\p{L}\p{N}]+/gu, " ").trim();
}

function steps(one, other) {
  let before = [], last = Array.from({ length: other.length + 1 }, (_, at) => at);
  for (let i = 1; i <= one.length; i++) {
    const row = [i];
    for (let j = 1; j <= other.length; j++) {
      let least = Math.min(last[j] + 1, row[j - 1] + 1, last[j - 1] + (one[i - 1] === other[j - 1] ? 0 : 1));
      if (i > 1 && j > 1 && one[i - 1] === other[j - 2] && one[i - 2] === other[j - 1]) least = Math.min(least, before[j - 2] + 1);
      row.push(least);
    }
    [before, last] = [last, row];
  }
  return last[other.length];
}

function threesOf(word) {
  const padded = "  " + word + " ", found = new Set();
  for (let at = 0; at < padded.length - 2; at++) found.add(padded.slice(at, at + 3));
  return found;
}

function threes(one, other) {
  const first = threesOf(one), second = threesOf(other);
  let both = 0;
  for (const three of first) if (second.has(three)) both++;
  return 2 * both / (first.size + second.size);
}

function wordLikeness(typed, word) {
  if (typed === word) return 1;
  if (typed.length >= 2 && word.startsWith(typed)) return 0.95;
  if (Math.min(typed.length, word.length) < 2) return 0;
  let best = Math.max(0, 1 - steps(typed, word) / Math.max(typed.length, word.length), threes(typed, word));
  if (typed.length >= 4) for (const end of [typed.length, typed.length + 1])
    if (end < word.length) best = Math.max(best, 0.95 * (1 - steps(typed, word.slice(0, end)) / end));
  return best;
}

function likeness(typed, wording) {
  const left = wording.slice();
  let total = 0, weight = 0;
  for (const word of typed) {
    let best = 0, place = -1;
    left.forEach((other, at) => { const score = wordLikeness(word, other); if (score > best) [best, place] = [score, at]; });
    if (place >= 0) left.splice(place, 1);
    total += best * word.length; weight += word.length;
  }
  return weight ? Math.max(0, total / weight - EXTRA * left.length) : 0;
}

// Symptoms nearest to what was typed, nearest first.
function nearest(text, wordings, most) {
  const typed = plain(text).split(" ").filter(Boolean), best = new Map();
  if (!typed.length) return [];
  for (const [wording, meaning] of wordings) {
    const score = likeness(typed, wording.split(" "));
    if (score >= NEAR && score > (best.get(meaning) || 0)) best.set(meaning, score);
  }
  const least = Math.max(...best.values()) - BEHIND;
  return [...best.keys()].filter(meaning => best.get(meaning) >= least).sort((a, b) => best.get(b) - best.get(a) || (a < b ? -1 : 1)).slice(0, most);
}

function compared(text) {
  return text.normalize("NFKD").replace(/\p{Mn}/gu, "").toLowerCase().replace(/[-‐‑–_/'’`]+/g, " ")
    .replace(/\s+/g, " ").replace(/^[ .,;:!?*()[\]"]+|[ .,;:!?*()[\]"]+$/g, "");
}

function dangersIn(text, rules) {
  const told = compared(text).replace(new RegExp(rules.none, "g"), " | ");
  return Object.keys(rules.patterns).filter(name => new RegExp(rules.patterns[name]).test(told));
}
