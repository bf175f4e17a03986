// Pictures of an entry: `files` are pairs of a field's name and a File, kept as they are and sent in parts.

// Text as a form sends it; with files, in parts.
export function bodyOf({ fields, files }) {
  if (!files.length) return new URLSearchParams(fields);
  const body = new FormData();
  for (const [name, value] of fields) body.append(name, value);
  for (const [name, file] of files) body.append(name, file, file.name);
  return body;
}

// Whether the browser still has what it kept: some lose a picture when they run short of room.
export async function isWhole({ files }) {
  const starts = await Promise.allSettled(files.map(([, file]) => file.slice(0, 1).arrayBuffer()));
  return starts.every(({ status }) => status === "fulfilled");
}

// An entry as it stands in a file: pictures as addresses that hold them, which a browser opens.
export async function written({ words, kind, address, made = Date.now(), problem = null, fields, files = [] }) {
  const pictures = await Promise.all(files.map(async ([field, file]) => ({ field, name: file.name, picture: await asAddress(file) })));
  const when = new Date(made).toISOString();
  return { words, kind, address, made: when, problem, fields: fields.filter(([, value]) => value), ...(files.length && { files: pictures }) };
}

function asAddress(file) {
  return new Promise((resolve) => {
    const reader = new FileReader();
    reader.onload = () => resolve(reader.result);
    reader.onerror = () => resolve(null);
    reader.readAsDataURL(file);
  });
}
