/* Elements of a page, and what a browser does with files and copied text. */

/** Return an element with attributes, listeners (`onclick`) and children; empty ones are left out. */
function h(tag, attributes = {}, ...children) {
  const element = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) {
    if (name.startsWith('on')) element.addEventListener(name.slice(2), value);
    else if (value === true) element.setAttribute(name, '');
    else if (value !== false && value !== undefined) element.setAttribute(name, value);
  }
  element.append(...children.flat(Infinity).filter((child) => child || child === 0));
  return element;
}

/** Return a copy of one of the pictures in the page, or nothing. */
function pictureOf(name) {
  const found = document.getElementById('pictures').content.querySelector(`[data-of="${name}"]`);
  return found ? found.firstElementChild.cloneNode(true) : null;
}

function plural(count, one, many = `${one}s`) {
  return `${count} ${count === 1 ? one : many}`;
}

/** Return a paragraph. */
function paragraph(...children) {
  return h('p', {}, ...children);
}

function bold(text) {
  return h('b', {}, text);
}

function code(text) {
  return h('code', {}, text);
}

/** Return what makes a part open and close; once the reader moved it, it stays as it was left. */
function folding(ui, name, first) {
  const open = ui.opened.get(name) ?? first;
  const ontoggle = ({ target }) => {
    if (target.open !== open || ui.opened.has(name)) ui.opened.set(name, target.open);
  };
  return { open, ontoggle };
}

/** Return a part of the page with its title, which opens and closes. */
function section(ui, name, title, open, ...children) {
  const summary = h('summary', {}, h('h2', {}, title));
  return h('details', { class: 'part', id: name, ...folding(ui, name, open) }, summary, ...children);
}

/** Return a button: what it says, the key that does the same, and what it does. */
function button(text, onclick, key = '', more = {}) {
  const shown = key ? h('kbd', { 'aria-hidden': 'true' }, key) : null;
  const attributes = { type: 'button', onclick, 'aria-keyshortcuts': key || undefined, ...more };
  return h('button', attributes, text, shown);
}

/** Give a file to the reader. */
function saveFile(name, blob) {
  const link = h('a', { href: URL.createObjectURL(blob), download: name });
  document.body.append(link);
  link.click();
  link.remove();
  setTimeout(() => URL.revokeObjectURL(link.href), 60000);
}

/** Copy text, where the browser lets a page do so; tell whether it did. */
async function copyText(text) {
  try {
    await navigator.clipboard.writeText(text);
    return true;
  } catch {
    const range = document.createRange();
    range.selectNodeContents(document.getElementById('path-text'));
    window.getSelection().removeAllRanges();
    window.getSelection().addRange(range);
    return document.execCommand('copy');
  }
}
