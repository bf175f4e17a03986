// The blank forms, as the server draws them for everybody, with real keys in the places of those that they hold.
import { get } from "./kept.js";

const placeholder = (number) => `00000000-0000-0000-0000-${number.toString(16).padStart(12, "0")}`;
export const [STUDENT, LESSON, FOCUS] = [0, 1, 2].map(placeholder);
export const PLACES = [10, 11, 12].map(placeholder);
export const FAULT = "some-fault";
export const WHAT = "some-words";

let parsed;

// A copy of one of them, in which `words` stand in place of others.
export async function blank(name, words = {}) {
  if (!parsed) {
    const forms = await get("forms");
    parsed = forms && new DOMParser().parseFromString(forms.html, "text/html");
  }
  const found = parsed?.getElementById(`blank-${name}`);
  if (!found) return undefined;
  const copy = document.importNode(found, true);
  for (const [known, word] of Object.entries(words)) put(copy, known, word);
  return copy;
}

function put(part, known, word) {
  for (const element of part.querySelectorAll("*")) {
    for (const attribute of element.attributes) {
      if (attribute.value.includes(known)) attribute.value = attribute.value.replaceAll(known, word);
    }
    for (const child of element.childNodes) {
      if (child.nodeType === Node.TEXT_NODE && child.data.includes(known)) child.data = child.data.replaceAll(known, word);
    }
  }
}
