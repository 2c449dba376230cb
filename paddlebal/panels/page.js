// What the pages drawn in a browser share; it stands before the script of each.

function make(tag, attributes = {}, ...children) {
  const element = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) {
    if (value === false || value === undefined || value === null) continue;
    if (name.startsWith("on")) element.addEventListener(name.slice(2), value);
    else if (name === "html") element.innerHTML = value;
    else element.setAttribute(name, value === true ? "" : value);
  }
  element.append(...children);
  return element;
}

function download(root, name, type, buffer) {
  const address = URL.createObjectURL(new Blob([buffer], { type }));
  const link = make("a", { href: address, download: name });
  root.append(link);
  link.click();
  link.remove();
  setTimeout(() => URL.revokeObjectURL(address), 60000);
}
