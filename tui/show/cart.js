// What calls whoever is near, and how it shakes, in milliseconds.
const SHAKES = { ready: [250], late: [500, 200, 500], rest: [250, 150, 250, 150, 800] };
// Ground and ink change places for the second second of what calls, as on the screen of the cart.
const CALLING = ["ready", "late", "rest", "back", "ask"];

let told = null;
// When it was told, by the page's own clock.
let toldAt = 0;
// Digits run on from here between two words of the cart.
const anchors = new Map();
let called = null;
const turns = [];
let state = "";

function named(one) {
  return `${one.field} ${one.word} ${one.names[0]} ${one.runs}`;
}

function clockText(seconds) {
  const hours = Math.floor(seconds / 3600);
  const minutes = Math.floor(seconds / 60) % 60;
  const two = (number) => String(number).padStart(2, "0");
  return hours
    ? `${hours}:${two(minutes)}:${two(seconds % 60)}`
    : `${minutes}:${two(seconds % 60)}`;
}

function ownSeconds(anchor) {
  const gone = Math.floor((performance.now() - anchor.at) / 1000);
  return anchor.runs === "up" ? anchor.seconds + gone : Math.max(0, anchor.seconds - gone);
}

// The digits by the page's own clock. What the cart says is in whole seconds, so one second apart is
// no other time, and the digits neither wait nor jump.
function anchor(one) {
  if (!one.runs || one.seconds < 0 || one.digits.startsWith("+")) return null;
  const key = named(one);
  const kept = anchors.get(key);
  if (kept && Math.abs(ownSeconds(kept) - one.seconds) <= 1) return kept;
  const made = { seconds: one.seconds, runs: one.runs, at: performance.now() };
  anchors.set(key, made);
  return made;
}

function digits(one) {
  const kept = anchors.get(named(one));
  return kept ? clockText(ownSeconds(kept)) : one.digits;
}

function drawStrip(strip) {
  const tape = part("tape");
  part("strip").hidden = !strip;
  if (!strip) return;
  const gone = Math.min(1, strip.gone + (strip.rate * (performance.now() - toldAt)) / 1000);
  const end = strip.rate ? strip.marks[strip.marks.length - 1] : 1;
  const box = (from, to, top, kind) =>
    shape("rect", {
      x: 1000 * from,
      y: top,
      width: Math.max(0, 1000 * (to - from)),
      height: 100 - top,
      class: kind,
    });
  tape.replaceChildren(
    box(Math.min(gone, end), end, 80, "ink"),
    box(Math.max(gone, strip.opens), Math.max(gone, strip.shuts), 50, "ink"),
    box(0, gone, 0, "ink"),
    ...strip.marks.map((mark) => box(Math.min(mark, 0.988), Math.min(mark, 0.988) + 0.012, 0, "cut")),
  );
  const words = part("words");
  const asked = JSON.stringify(strip.words) + words.clientWidth;
  if (words.dataset.drawn === asked) return;
  words.dataset.drawn = asked;
  words.replaceChildren();
  const there = words.getBoundingClientRect();
  const placed = [];
  for (const [share, text] of strip.words) {
    if (!text) continue;
    const word = document.createElement("span");
    word.textContent = text;
    if (share < 0.8) word.style.left = `${100 * share}%`;
    else word.style.right = `${100 * (1 - Math.min(1, share + 0.012))}%`;
    words.append(word);
    const room = word.getBoundingClientRect();
    const free = placed.every((one) => room.right + 12 < one.left || room.left - 12 > one.right);
    if (free && room.left >= there.left && room.right <= there.right) placed.push(room);
    else word.remove();
  }
}

// What runs beside the first matter, each on its own ground.
function drawOthers(others) {
  const there = part("others");
  document.body.dataset.others = others.length;
  while (there.children.length > others.length) there.lastChild.remove();
  while (there.children.length < others.length) {
    const row = document.createElement("div");
    row.append(shape("svg", {}), shape("svg", {}), document.createElement("b"));
    there.append(row);
  }
  others.forEach((one, at) => {
    const [name, figure, word] = there.children[at].children;
    there.children[at].dataset.field = one.field;
    drawName(name, one.names);
    drawDigits(figure, one.runs, digits(one));
    write(word, one.word);
  });
}

function draw() {
  if (!told) return;
  const first = told.matters[0];
  document.body.dataset.field = first.field;
  write(part("at"), told.at);
  write(part("ready"), told.ready);
  write(part("stage"), told.stage);
  drawName(part("name"), first.names);
  drawDigits(part("digits"), first.runs, digits(first));
  drawWord(part("word"), first.word);
  part("word").classList.toggle("none", !first.word);
  write(part("second-what"), first.second[0]);
  drawDigits(part("second-figure"), "", first.second[1]);
  write(part("under"), [first.under, first.aside].filter(Boolean).join("   "));
  drawStrip(first.strip);
  drawOthers(told.matters.slice(1, 4));
  write(part("rest"), told.rest);
  write(part("heat"), told.heat);
  write(part("shakes"), shakes());
}

function shakes() {
  if (!navigator.vibrate) return "This device cannot vibrate.";
  const touched = !navigator.userActivation || navigator.userActivation.hasBeenActive;
  return touched ? "" : "Touch the page once: it vibrates from then on.";
}

// What became ready, late or a rest since the cart said something last; not what stood when the page
// was opened.
function call() {
  const now = new Set();
  for (const one of told.matters) if (one.field in SHAKES) now.add(named(one));
  if (called) {
    const fresh = told.matters.find((one) => one.field in SHAKES && !called.has(named(one)));
    if (fresh && navigator.vibrate && !shakes()) navigator.vibrate(SHAKES[fresh.field]);
  }
  called = now;
  const first = told.matters[0];
  if (named(first) === state) return;
  turns.splice(0).forEach(clearTimeout);
  document.body.classList.remove("turned");
  if (state && CALLING.includes(first.field)) {
    turns.push(setTimeout(() => document.body.classList.add("turned"), 1000));
    turns.push(setTimeout(() => document.body.classList.remove("turned"), 2000));
  }
  state = named(first);
  write(part("said"), [first.names[0], first.word, first.under].filter(Boolean).join(", "));
}

listen(
  (news) => {
    told = news;
    toldAt = performance.now();
    const keys = new Set(told.matters.map(named));
    for (const key of anchors.keys()) if (!keys.has(key)) anchors.delete(key);
    told.matters.forEach(anchor);
    document.body.classList.remove("lost");
    call();
    draw();
  },
  (at) => {
    // Whatever ran may have been ended at the cart: nothing of it is shown as if it were so.
    const was = told ? `It said then: ${[told.matters[0].names[0], told.matters[0].word].filter(Boolean).join(", ")}.` : "";
    told = null;
    turns.splice(0).forEach(clearTimeout);
    document.body.classList.remove("turned");
    document.body.dataset.field = "off";
    document.body.dataset.others = 0;
    document.body.classList.add("lost");
    drawName(part("name"), ["NOT HEARD"]);
    for (const id of ["digits", "word", "second-figure"]) drawLines(part(id), [""], LETTERS.settings[0]);
    for (const id of ["at", "ready", "stage", "second-what", "rest", "heat"]) write(part(id), "");
    if (was) part("said").dataset.was = was;
    write(part("under"), [`${notHeard(at)}.`, part("said").dataset.was].filter(Boolean).join(" "));
    write(part("said"), notHeard(at));
    part("strip").hidden = true;
    part("others").replaceChildren();
    state = "";
  },
);
setInterval(draw, 200);
addEventListener("resize", draw);
