/*
 * Specimens kept in the browser, one entry each, so that a slip in one cannot harm another. An
 * answer is kept before the next question is put. Where the browser keeps nothing, the page says so.
 */

const PREFIX = 'keygen pocket page: ';

/** Return a store over the browser's own; `kept` tells whether it can be written to. */
function openStore() {
  const memory = new Map();
  let storage = null;
  try {
    storage = window.localStorage;
    storage.setItem(`${PREFIX}test`, '1');
    storage.removeItem(`${PREFIX}test`);
  } catch {
    storage = null;
  }
  const store = {
    kept: Boolean(storage),
    save(specimen) {
      memory.set(specimen.id, specimen);
      try {
        storage?.setItem(PREFIX + specimen.id, JSON.stringify(specimen));
      } catch {
        store.kept = false;
      }
    },
    remove(id) {
      memory.delete(id);
      storage?.removeItem(PREFIX + id);
    },
    all() {
      return [...memory.values()].sort((one, other) => one.number - other.number);
    },
    get(id) {
      return memory.get(id);
    },
    /** Read again what is kept, because another tab changed it. */
    refresh() {
      if (!storage) return;
      memory.clear();
      for (let i = 0; i < storage.length; i += 1) {
        const key = storage.key(i);
        if (key.startsWith(PREFIX)) {
          const specimen = readStored(storage.getItem(key));
          if (specimen) memory.set(specimen.id, specimen);
        }
      }
    },
  };
  store.refresh();
  return store;
}

/** Return a specimen as it was kept; null for an entry that is none. */
function readStored(text) {
  try {
    const found = JSON.parse(text);
    return found && found.id && Array.isArray(found.answers) ? found : null;
  } catch {
    return null;
  }
}
