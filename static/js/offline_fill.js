// Fills a template with plain data; pages drawn on the phone have no other code of their own for it. Words stay in the
// templates, and nothing is ever put in as markup.
//
//   {name} in a text or an attribute      data.name, or nothing; an attribute left empty goes
//   data-if="name", data-unless="name"    the element goes when data.name is empty, or when it is not
//   <template data-each="name">           its content once for each of data.name, filled with the item over the data

const SLOT = /\{(\w+)\}/g;

export function inserted(text, data) {
  return text.replace(SLOT, (_slot, name) => (data[name] === false ? "" : (data[name] ?? "")));
}

// A copy of a template's content, filled.
export function filled(template, data) {
  const copy = template.content.cloneNode(true);
  fill(copy, data);
  return copy;
}

export function fill(root, data) {
  for (const element of root.querySelectorAll("[data-if], [data-unless]")) {
    const { if: wanted, unless } = element.dataset;
    if ((wanted && isEmpty(data[wanted])) || (unless && !isEmpty(data[unless]))) element.remove();
  }
  const lists = [...root.querySelectorAll("template[data-each]")];
  const walker = document.createTreeWalker(root, NodeFilter.SHOW_ELEMENT | NodeFilter.SHOW_TEXT);
  while (walker.nextNode()) slot(walker.currentNode, data);
  for (const list of lists) {
    for (const item of data[list.dataset.each] ?? []) list.before(filled(list, { ...data, ...item }));
  }
}

function slot(node, data) {
  if (node.nodeType === Node.TEXT_NODE) {
    if (node.data.includes("{")) node.data = inserted(node.data, data);
    return;
  }
  for (const attribute of [...node.attributes]) {
    if (!attribute.value.includes("{")) continue;
    attribute.value = inserted(attribute.value, data);
    if (!attribute.value) node.removeAttribute(attribute.name);
  }
}

function isEmpty(value) {
  return !value || value.length === 0;
}
