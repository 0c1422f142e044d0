const SVG = "http://www.w3.org/2000/svg";

function shape(kind, facts) {
  const made = document.createElementNS(SVG, kind);
  for (const [name, value] of Object.entries(facts)) made.setAttribute(name, value);
  return made;
}

// How wide a line is in points; of digits each is as wide as a 0, so that nothing moves.
function cell(setting, char) {
  return /\d/.test(char) ? setting.zero : setting.of[char][0];
}

function width(setting, line) {
  const cells = [...line].map((char) => cell(setting, char));
  return cells.reduce((sum, one) => sum + one + setting.gap, 0) - setting.gap;
}

function known(text) {
  return [...text].every((char) => char in LETTERS.settings[0].of);
}

// Sets lines of text in the letters of the cart, as large as there is room.
function drawLines(svg, lines, setting) {
  const asked = lines.join("\n") + setting.gap + setting.zero;
  if (svg.dataset.drawn === asked) return;
  svg.dataset.drawn = asked;
  svg.setAttribute("preserveAspectRatio", "xMinYMid");
  svg.replaceChildren();
  if (!lines.every(known)) {
    // A name in letters that have no large form is shown as it is.
    const text = shape("text", { x: 0, y: 22, "font-size": 27 });
    text.textContent = lines.join(" ");
    svg.append(text);
    svg.setAttribute("viewBox", `0 0 ${Math.max(1, Math.ceil(text.getComputedTextLength()))} 27`);
    return;
  }
  const step = LETTERS.height + 7;
  const wide = Math.max(1, ...lines.map((line) => width(setting, line)));
  svg.setAttribute("viewBox", `0 0 ${wide} ${step * lines.length - 7}`);
  lines.forEach((line, row) => {
    let x = 0;
    for (const char of line) {
      const [own, path] = setting.of[char];
      const at = x + (char === "1" ? (cell(setting, char) - own) / 2 : 0);
      svg.append(shape("path", { d: path, transform: `translate(${at} ${row * step})` }));
      x += cell(setting, char) + setting.gap;
    }
  });
}

// How much of its room's height a line of letters takes.
function scale(svg, lines, setting) {
  const room = svg.getBoundingClientRect();
  const step = LETTERS.height + 7;
  const high = LETTERS.height / (step * lines.length - 7);
  const wide = Math.max(...lines.map((line) => width(setting, line)));
  return Math.min(room.height * high, (room.width / Math.max(1, wide)) * LETTERS.height);
}

// The longest of the forms that stands at full height, letters made narrower before they are made
// lower; else the shortest one, as high as it can be.
function drawName(svg, forms) {
  const whole = svg.getBoundingClientRect().height;
  for (const form of forms.filter(known)) {
    for (const setting of LETTERS.settings) {
      if (scale(svg, [form], setting) > whole - 1) return drawLines(svg, [form], setting);
    }
  }
  const last = forms[forms.length - 1];
  return drawLines(svg, [last], LETTERS.settings[LETTERS.settings.length - 1]);
}

// A word in one line or two, whatever makes its letters higher.
function drawWord(svg, word) {
  if (!known(word)) return drawLines(svg, [word], LETTERS.settings[0]);
  let best = null;
  for (const lines of [[word], word.split(" ")]) {
    for (const setting of LETTERS.settings) {
      const size = scale(svg, lines, setting);
      if (!best || size > best.size + 0.5) best = { size, lines, setting };
    }
  }
  return drawLines(svg, best.lines, best.setting);
}

// Digits behind the wedge that says which way they run.
function drawDigits(svg, runs, digits) {
  const text = `${runs === "down" ? LETTERS.down : runs === "up" ? LETTERS.up : ""}${digits}`;
  if (!digits || !known(text)) return drawLines(svg, [digits], LETTERS.settings[0]);
  const fits = (one) => scale(svg, [text], one);
  const best = LETTERS.settings.reduce((a, b) => (fits(b) > fits(a) + 0.5 ? b : a));
  return drawLines(svg, [text], best);
}
