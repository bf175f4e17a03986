// Measuring in a still: points are placed with a finger, a mouse or the keys, and the value is computed at once.
// The upper half computes exactly what lessons/measuring computes; the server computes again what is kept.

const FOCAL = 0.7, TAP_PX = 2, TILT_DEGREES = 3, KNOWN_CM = 0.5, BALL_CM = 4.267, BALL_SHARE = 0.006, NORMAL_95 = 1.96;
const STEP = 0.25, ROUNDS = 60;
const SHORTEST_LINE = 10, SHORTEST_SCALE = 40, SMALLEST_BALL = 16, SHORTEST_KNOWN = 5, LONGEST_KNOWN = 300;
const LEAST = { angle: 4, upright: 2, length: 4, ball: 7, ratio: 4 }, MOST = { ...LEAST, ball: 10 };
const TURN = { angle: 360, upright: 180 }, UNIT = { angle: "°", upright: "°", length: "cm", ball: "cm", ratio: "to 1" };
const STEPS = [-2, -1, 0, 1, 2].flatMap((power) => [1, 2, 5].map((digit) => Number(`${digit}e${power}`)));

const distance = (one, other) => Math.hypot(other.x - one.x, other.y - one.y);
const sum = (numbers) => numbers.reduce((total, number) => total + number, 0);
const mod = (number, turn) => ((number % turn) + turn) % turn;
const within = (degrees, turn) => -mod(turn / 2 - degrees, turn) + turn / 2;
const bearing = (begin, end) => (Math.atan2(end.x - begin.x, begin.y - end.y) * 180) / Math.PI;
const focal = (frame) => FOCAL * Math.max(frame.width, frame.height);

function rotated(one, other, degrees) {
  const angle = (degrees * Math.PI) / 180;
  const cos = Math.cos(angle), sin = Math.sin(angle);
  return { one: one * cos - other * sin, other: one * sin + other * cos };
}

function flattened(point, frame, tilt) {
  const rolled = rotated(point.x - frame.width / 2, point.y - frame.height / 2, tilt.roll || 0);
  const pitched = rotated(rolled.other, focal(frame), -(tilt.pitch || 0));
  const yawed = rotated(rolled.one, pitched.other, -(tilt.yaw || 0));
  const ahead = focal(frame) / yawed.other;
  return { x: frame.width / 2 + ahead * yawed.one, y: frame.height / 2 + ahead * pitched.one };
}

export function fitCircle(points) {
  const count = points.length;
  const mean = { x: sum(points.map((point) => point.x)) / count, y: sum(points.map((point) => point.y)) / count };
  let middle = mean;
  for (let round = 0; round < ROUNDS; round += 1) {
    const at = middle;
    const distances = points.map((point) => distance(at, point));
    if (Math.min(...distances) === 0) throw new Error("Place the points on the edge of the ball, not in its middle.");
    const radius = sum(distances) / count;
    const right = sum(points.map((point, index) => (point.x - at.x) / distances[index])) / count;
    const down = sum(points.map((point, index) => (point.y - at.y) / distances[index])) / count;
    middle = { x: mean.x - radius * right, y: mean.y - radius * down };
  }
  return { middle, radius: sum(points.map((point) => distance(middle, point))) / count };
}

function widestGap(points, middle) {
  const angles = points.map((point) => Math.atan2(point.y - middle.y, point.x - middle.x)).sort((a, b) => a - b);
  return Math.max(...angles.map((angle, index) => (angles[index + 1] ?? angles[0] + 2 * Math.PI) - angle));
}

export function linesOf(kind, points) {
  const ends = kind === "ball" ? points.slice(0, 2) : points;
  return ends.flatMap((point, index) => (index % 2 ? [[ends[index - 1], point]] : []));
}

function check(kind, points) {
  if (points.length < LEAST[kind] || points.length > MOST[kind]) {
    throw new Error(`Place ${LEAST[kind]} points; ${points.length} are there.`);
  }
  if (linesOf(kind, points).some(([begin, end]) => distance(begin, end) < SHORTEST_LINE)) {
    throw new Error(`Two points of a line lie at least ${SHORTEST_LINE} pixels from each other.`);
  }
  if (kind === "length" && distance(points[2], points[3]) < SHORTEST_SCALE) {
    throw new Error(`The known length is at least ${SHORTEST_SCALE} pixels long: choose a longer one.`);
  }
  if (kind === "ball") checkBall(points.slice(2));
}

function checkBall(edge) {
  const ball = fitCircle(edge);
  if (widestGap(edge, ball.middle) > Math.PI) {
    throw new Error("Place the points all round the ball, not on one side of it.");
  }
  if (2 * ball.radius < SMALLEST_BALL) {
    throw new Error(`The ball is at least ${SMALLEST_BALL} pixels wide: measure by a known length instead.`);
  }
}

function valueOf(kind, points, knownCm) {
  const lines = linesOf(kind, points), first = lines[0], last = lines[lines.length - 1];
  if (kind === "angle") return within(bearing(...last) - bearing(...first), 360);
  if (kind === "upright") return within(bearing(...first), 180);
  if (kind === "ball") return (knownCm * distance(...first)) / (2 * fitCircle(points.slice(2)).radius);
  const ratio = distance(...first) / distance(...last);
  return kind === "length" ? ratio * knownCm : ratio;
}

function scaleFor(kind, points, frame, knownCm) {
  if (kind === "ball") {
    const { middle } = fitCircle(points.slice(2));
    const off = distance(middle, { x: frame.width / 2, y: frame.height / 2 });
    const wider = (1 + Math.hypot(focal(frame), off) / focal(frame)) / 2;
    return { cm: BALL_CM * wider, share: Math.hypot(BALL_SHARE, (wider - 1) / 2) / Math.sqrt(3) };
  }
  if (kind !== "length") return { cm: 1, share: 0 };
  if (!(knownCm >= SHORTEST_KNOWN && knownCm <= LONGEST_KNOWN)) {
    throw new Error(`Type the known length, from ${SHORTEST_KNOWN} to ${LONGEST_KNOWN} cm.`);
  }
  return { cm: knownCm, share: KNOWN_CM / knownCm / Math.sqrt(3) };
}

function slope(kind, valueAt) {
  const change = valueAt(STEP) - valueAt(-STEP);
  return (kind in TURN ? within(change, TURN[kind]) : change) / (2 * STEP);
}

export function estimate(kind, points, frame, knownCm = null) {
  const holds = (point) => point.x >= 0 && point.x <= frame.width && point.y >= 0 && point.y <= frame.height;
  if (!points.every(holds)) throw new Error("Every point lies in the picture.");
  check(kind, points);
  const scale = scaleFor(kind, points, frame, knownCm);
  const value = valueOf(kind, points, scale.cm);
  const moved = (index, way) => (step) =>
    valueOf(kind, points.map((point, at) => (at === index ? { ...point, [way]: point[way] + step } : point)), scale.cm);
  const tilted = (axis) => (step) =>
    valueOf(kind, points.map((point) => flattened(point, frame, { [axis]: step })), scale.cm);
  const taps = points.flatMap((_, index) => [slope(kind, moved(index, "x")), slope(kind, moved(index, "y"))]);
  const tilts = ["pitch", "yaw", "roll"].map((axis) => slope(kind, tilted(axis)));
  return {
    kind, value, fromTaps: TAP_PX * Math.hypot(...taps), fromScale: scale.share * Math.abs(value),
    fromTilt: (TILT_DEGREES / Math.sqrt(3)) * Math.hypot(...tilts),
  };
}

export function shown(found) {
  const uncertainty = Math.hypot(found.fromTaps, found.fromScale, found.fromTilt), size = Math.abs(found.value);
  const step = STEPS.find((one) => one >= uncertainty) ?? STEPS[STEPS.length - 1];
  const low = Math.max(0, size - NORMAL_95 * uncertainty);
  const high = Math.min((TURN[found.kind] ?? Infinity) / 2, size + NORMAL_95 * uncertainty);
  const decimals = Math.max(0, -Math.floor(Math.log10(step) + 1e-9));
  const write = (steps) => (steps * step).toFixed(decimals);
  const unit = UNIT[found.kind] === "°" ? "°" : ` ${UNIT[found.kind]}`;
  const lean = found.kind === "upright" && low > 0 ? `, to the ${found.value > 0 ? "right" : "left"}` : "";
  return {
    text: `${write(Math.floor(size / step + 0.5))}${unit}${lean}`,
    range: `${write(Math.floor(low / step + 1e-9))} to ${write(Math.ceil(high / step - 1e-9))}${unit}`,
  };
}

export function lengthInCm(typed) {
  const found = typed.trim().match(/^(\d{1,3}(?:[.,]\d{1,2})?)\s*(cm|in|inch|inches|"|)\.?$/i);
  if (!found) return null;
  return Number(found[1].replace(",", ".")) * (["", "cm"].includes(found[2].toLowerCase()) ? 1 : 2.54);
}

// --- The page ------------------------------------------------------------------------------------

const ZOOM = 3, NEAR = 22, SVG = "http://www.w3.org/2000/svg";
const ARROWS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };

function openBoard(board) {
  const form = document.getElementById("measuring"), held = board.querySelector("canvas");
  const picture = board.querySelector("img"), drawn = document.getElementById("drawn");
  const frame = { width: Number(board.dataset.width), height: Number(board.dataset.height) };
  const kind = form.elements.kind.value, choosers = [...form.querySelectorAll("[data-point]")];
  const field = (way, number) => form.elements[`${way}${number}`];
  let chosen = 0, pointer = null;

  function place(number) {
    const right = field("x", number).value, down = field("y", number).value;
    return right === "" || down === "" ? null : { x: Number(right), y: Number(down) };
  }

  function move(number, x, y) {
    field("x", number).value = Math.round(Math.min(frame.width, Math.max(0, x)) * 10) / 10;
    field("y", number).value = Math.round(Math.min(frame.height, Math.max(0, y)) * 10) / 10;
    show();
  }

  function choose(number) {
    chosen = (number + choosers.length) % choosers.length;
    choosers.forEach((button, index) => button.setAttribute("aria-pressed", String(index === chosen)));
    document.getElementById("now").textContent = `${chosen + 1} of ${choosers.length}: ${choosers[chosen].dataset.label}`;
    show();
  }

  function firstFree() {
    return choosers.findIndex((_, number) => place(number) === null);
  }

  function show() {
    const places = choosers.map((_, number) => place(number));
    draw(places);
    for (const glass of document.querySelectorAll("canvas")) magnify(glass, places[chosen]);
    tell(places.filter(Boolean));
  }

  function tell(points) {
    let told = { text: "", range: "" }, hint = "";
    try {
      const known = form.elements.known_cm ? lengthInCm(form.elements.known_cm.value) : null;
      told = shown(estimate(kind, points, frame, known));
    } catch (refusal) {
      hint = refusal.message;
    }
    document.getElementById("value").textContent = told.text;
    document.getElementById("range").textContent = told.range;
    document.getElementById("hint").textContent = hint;
    document.getElementById("result").hidden = told.text === "";
  }

  function draw(places) {
    drawn.replaceChildren();
    const line = (d, name) => {
      const path = document.createElementNS(SVG, "path");
      path.setAttribute("d", d);
      path.setAttribute("class", name);
      drawn.append(path);
    };
    for (let at = 0; at < (kind === "ball" ? 2 : places.length); at += 2) {
      const begin = places[at], end = places[at + 1];
      if (!begin || !end) continue;
      for (const name of ["mark-under", "mark"]) line(`M${begin.x} ${begin.y}L${end.x} ${end.y}`, name);
    }
    places.forEach((point, number) => {
      if (!point) return;
      line(`M${point.x} ${point.y}h0`, "mark-point");
      if (number === chosen) line(`M${point.x} ${point.y}h0`, "mark-chosen");
    });
  }

  function magnify(glass, point) {
    const pen = glass.getContext("2d"), size = glass.width, seen = size / ZOOM, middle = size / 2;
    const ratio = picture.naturalWidth / frame.width;
    glass.classList.toggle("empty", !point);
    if (!point) return;
    pen.clearRect(0, 0, size, size);
    const from = [(point.x - seen / 2) * ratio, (point.y - seen / 2) * ratio, seen * ratio, seen * ratio];
    pen.drawImage(picture, ...from, 0, 0, size, size);
    for (const [colour, width] of [["#000", 3], ["#fff", 1]]) {
      pen.strokeStyle = colour;
      pen.lineWidth = width;
      pen.strokeRect(middle - ZOOM / 2, middle - ZOOM / 2, ZOOM, ZOOM);
      pen.beginPath();
      for (const [x, y] of [[0, 1], [1, 0], [0, -1], [-1, 0]]) {
        pen.moveTo(middle + 6 * x, middle + 6 * y);
        pen.lineTo(middle + 24 * x, middle + 24 * y);
      }
      pen.stroke();
    }
  }

  function under(event) {
    const box = picture.getBoundingClientRect(), scale = frame.width / box.width;
    return { x: (event.clientX - box.left) * scale, y: (event.clientY - box.top) * scale, near: NEAR * scale };
  }

  // A point that is chosen and not placed is placed here. Else the point that lies here is chosen, else the next free one.
  function choosePlaceAt(at) {
    if (place(chosen) === null) return;
    const near = choosers.findIndex((_, number) => place(number) && distance(place(number), at) < at.near);
    const free = firstFree();
    if (near >= 0) choose(near);
    else if (free >= 0) choose(free);
  }

  function follow(event) {
    const at = under(event);
    move(chosen, at.x, at.y);
    held.classList.toggle("at-right", at.x < frame.width / 2);
  }

  function release() {
    pointer = null;
    held.hidden = true;
  }

  board.addEventListener("pointerdown", (event) => {
    if (!event.isPrimary || event.button !== 0 || !event.target.closest(".picture")) return;
    pointer = event.pointerId;
    board.setPointerCapture(pointer);
    held.hidden = false;
    choosePlaceAt(under(event));
    follow(event);
  });
  board.addEventListener("pointermove", (event) => { if (event.pointerId === pointer) follow(event); });
  board.addEventListener("pointerup", release);
  board.addEventListener("pointercancel", release);

  function nudge([right, down], far) {
    const at = place(chosen) ?? { x: frame.width / 2, y: frame.height / 2 };
    const step = far ? 10 : 1;
    move(chosen, at.x + right * step, at.y + down * step);
  }

  board.addEventListener("keydown", (event) => {
    if (event.key in ARROWS) nudge(ARROWS[event.key], event.shiftKey);
    else if (event.key === "Enter") choose(chosen + (event.shiftKey ? -1 : 1));
    else return;
    event.preventDefault();
  });
  for (const button of document.querySelectorAll("[data-arrow]")) {
    button.addEventListener("click", (event) => nudge(ARROWS[button.dataset.arrow], event.shiftKey));
  }
  for (const button of document.querySelectorAll("[data-step]")) {
    button.addEventListener("click", () => choose(chosen + Number(button.dataset.step)));
  }
  choosers.forEach((button, number) => button.addEventListener("click", () => choose(number)));
  form.addEventListener("input", show);
  picture.addEventListener("load", show);
  for (const part of document.querySelectorAll("[data-script]")) part.hidden = false;
  document.getElementById("compute").hidden = true;
  const numbers = document.getElementById("numbers");
  numbers.open = numbers.querySelector(".wrong") !== null;
  choose(Math.max(0, firstFree()));
}

const board = globalThis.document?.getElementById("board");
if (board) openBoard(board);
