// The blank forms, as the server draws them for everybody, with real keys in the places of those that they hold.
import { get } from "./kept.js";

const placeholder = (number) => `00000000-0000-0000-0000-${number.toString(16).padStart(12, "0")}`;
export const [STUDENT, LESSON, FOCUS] = [0, 1, 2].map(placeholder);
export const PLACES = [10, 11, 12].map(placeholder);
export const FAULT = "some-fault";
export const WHAT = "some-words";

let forms;

// One of them, in which `words` stand in place of others; a document fragment.
export async function blank(name, words = {}) {
  forms ||= await get("forms");
  let text = forms?.blanks[name];
  if (text === undefined) return undefined;
  for (const [known, word] of Object.entries(words)) text = text.replaceAll(known, () => escaped(word));
  const part = document.createDocumentFragment();
  part.append(...new DOMParser().parseFromString(text, "text/html").body.childNodes);
  return part;
}

const ENTITIES = { "&": "&amp;", "<": "&lt;", ">": "&gt;", '"': "&quot;" };
const escaped = (word) => word.replace(/[&<>"]/g, (sign) => ENTITIES[sign]);
