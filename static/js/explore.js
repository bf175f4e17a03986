// Draws the chart to zoom into. The page says the same without it.
"use strict";

const chart = document.getElementById("chart");
const figures = JSON.parse(document.getElementById("figures").textContent);
const dark = matchMedia("(prefers-color-scheme: dark)");
const thumb = matchMedia("(pointer: coarse)");
let zoomed = false;

async function draw() {
  const { data, layout } = structuredClone(dark.matches ? figures.dark : figures.light);
  const whole = String(layout.xaxis.range);
  if (thumb.matches) layout.dragmode = "pan";
  chart.replaceChildren();
  zoomed = false;
  await Plotly.newPlot(chart, data, layout, figures.config);
  chart.on("plotly_relayout", () => { zoomed = String(chart.layout.xaxis.range) !== whole; });
}

// Plotly takes every touch for a drag: let the page scroll past a chart that is not zoomed into.
function letScroll(event) {
  if (!zoomed) event.stopPropagation();
}

if (window.Plotly) {
  draw();
  chart.addEventListener("touchstart", letScroll, { capture: true, passive: true });
  dark.addEventListener("change", draw);
}
