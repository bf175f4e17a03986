// The drawing of a drill as rows of a form, with the fields that each piece has. It also works without.
"use strict";

const pieces = document.getElementById("pieces");
const form = pieces.closest("form");
const total = form.querySelector("[name=pieces-TOTAL_FORMS]");
const most = Number(form.querySelector("[name=pieces-MAX_NUM_FORMS]").value);
const addButton = document.getElementById("add-piece");

// A piece shows the fields that it has, and those in which something stands.
function showFields(row) {
  const piece = row.querySelector("select").value;
  for (const cell of row.querySelectorAll("[data-pieces]")) {
    cell.hidden = piece !== "" && !cell.dataset.pieces.split(" ").includes(piece) && cell.querySelector("input").value === "";
  }
  const more = row.querySelector("details");
  more.hidden = [...more.querySelectorAll("[data-pieces]")].every((cell) => cell.hidden);
}

pieces.addEventListener("change", ({ target }) => {
  if (target.matches("select")) showFields(target.closest(".piece"));
});

function addPiece() {
  const number = Number(total.value);
  const row = document.getElementById("empty-piece").content.firstElementChild.cloneNode(true);
  for (const element of [row, ...row.querySelectorAll("*")]) {
    for (const { name, value } of [...element.attributes]) element.setAttribute(name, value.replaceAll("__prefix__", number));
  }
  row.querySelector("legend").textContent = `Piece ${number + 1}`;
  pieces.append(row);
  total.value = number + 1;
  addButton.hidden = number + 1 >= most;
  row.querySelector("select").focus();
}

addButton.hidden = Number(total.value) >= most;
addButton.addEventListener("click", addPiece);
for (const row of pieces.children) showFields(row);
