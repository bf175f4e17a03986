// An element with its attributes and its text.
export function make(name, attributes = {}, text = "") {
  const part = document.createElement(name);
  for (const [attribute, value] of Object.entries(attributes)) part.setAttribute(attribute, value);
  part.textContent = text;
  return part;
}
