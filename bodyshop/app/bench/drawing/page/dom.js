// Small helpers to make elements; text is always put in as text.

const SVG = "http://www.w3.org/2000/svg";

export function svg(tag, attributes = {}, ...children) {
  const element = document.createElementNS(SVG, tag);
  put(element, attributes);
  element.append(...children);
  return element;
}

export function html(tag, attributes = {}, ...children) {
  const element = document.createElement(tag);
  put(element, attributes);
  element.append(...children);
  return element;
}

export function put(element, attributes) {
  for (const [name, value] of Object.entries(attributes)) {
    if (name.startsWith("on")) element.addEventListener(name.slice(2), value);
    else if (value === false || value === null || value === undefined) element.removeAttribute(name);
    else {
      const text = value === true ? "" : String(value);
      if (element.getAttribute(name) !== text) element.setAttribute(name, text);
    }
  }
}

// Makes `parent` hold one child for each item, using again what is there.
export function fill(parent, items, make, update) {
  while (parent.children.length > items.length) parent.lastElementChild.remove();
  items.forEach((item, index) => {
    let child = parent.children[index];
    if (!child) {
      child = make(item);
      parent.append(child);
    }
    update(child, item, index);
  });
}
