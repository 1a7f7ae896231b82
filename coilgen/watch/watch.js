
// Follows the file, and tries numbers: parts at once, the whole page when the hand rests.
(() => {
  const one = (selector) => document.querySelector(selector);
  const all = (selector, within = document) => [...within.querySelectorAll(selector)];
  const made = (tag, text, more = {}) => Object.assign(document.createElement(tag), { textContent: text, ...more });
  const form = one("#trial"), save = one("#save"), back = one("#back"), undo = one("#undo");
  const says = one("#trial-says"), faults = one("#faults"), old = faults.dataset.old;
  // The newest version heard of, the one whose numbers are in the form, and that since which the file says them.
  let version = Number(form.dataset.version), shown = version, since = Number(form.dataset.since), whole = form.dataset.whole === "true", dirty = false, asked = 0, rest = null;
  // Since which version the newest good file says the same, and the file that the figures shown are of.
  let newest = since, from = since;
  // Other pages may try numbers of their own at the same time.
  const page = `${Date.now()}-${Math.random()}`;
  // What was asked for numbers that are not shown any more is given up.
  let given = new AbortController();
  const giveUp = () => { clearTimeout(rest); given.abort(); given = new AbortController(); };

  const post = async (path, numbers, signal = null) => (await fetch(path, {
    method: "POST",
    signal,
    headers: { "Content-Type": "application/json", "If-Match": `"${shown}"`, "Page": page },
    body: JSON.stringify(numbers),
  })).json();
  const boxes = () => all("input[type=number]", form);
  const chosen = () => boxes().filter((box) => !box.disabled);
  const numbers = () => Object.fromEntries(chosen().map((box) => [box.name, box.valueAsNumber]));
  const slider = (key) => all("input[type=range]", form).find((each) => each.dataset.for === key);
  // What is wrong with the file stays told beside what is wrong with the numbers tried.
  let ofFile = all("p", faults).map((line) => line.textContent).filter((line) => line !== old);
  let ofNumbers = [];
  const tell = (lines = ofNumbers) => {
    ofNumbers = lines;
    const wrong = [...ofFile, ...lines], stale = wrong.length > 0 || from !== newest;
    const changed = since === newest ? [] : ["The file has changed meanwhile; Back to the file shows it."];
    const told = [...wrong, ...changed, ...(stale && one("#board-picture") ? [old] : [])];
    faults.replaceChildren(...told.map((line) => made("p", line)));
    one("#coil").classList.toggle("stale", stale);
  };
  const figuresOf = (reply) => { from = reply.since; newest = Math.max(newest, from); };
  const tellOfFile = (lines) => { ofFile = lines; tell([]); };
  const setDirty = (value) => { dirty = value; save.disabled = back.disabled = !value; };

  // A number that is chosen from the list joins those offered at once.
  const offer = (box) => {
    box.disabled = slider(box.name).disabled = false;
    box.closest(".number").classList.remove("hidden");
  };
  const more = one("#more");
  if (more) more.addEventListener("change", () => {
    const box = boxes().find((each) => each.name === more.value);
    more.value = "";
    if (!box) return;
    offer(box);
    box.focus();
  });
  const setNumbers = (values) => boxes().forEach((box) => {
    if (!(box.name in values)) return;
    if (box.disabled && box.valueAsNumber !== values[box.name]) offer(box);
    box.value = values[box.name];
    slider(box.name).value = values[box.name];
  });

  // Layers that were off stay off, and what was unfolded stays so, when the content is new.
  const folds = () => all("#coil details").map((each) => [each.querySelector("summary").textContent, each]);
  const renew = (change) => {
    const switches = () => all("[data-shows]");
    const off = switches().filter((box) => !box.checked).map((box) => box.dataset.shows);
    const open = folds().filter(([, each]) => each.open).map(([name]) => name);
    change();
    switches().forEach((box) => { box.checked = !off.includes(box.dataset.shows); });
    folds().forEach(([name, each]) => { if (open.includes(name)) each.open = true; });
    if (one("#board-picture")) coilPage.start();
  };
  const put = (id, text) => { const part = document.getElementById(id); if (part) part.outerHTML = text; };

  // What was tried, side by side: the file first, then each set of numbers on which the hand rested.
  const history = one("#history");
  let tried = [], at = 0;
  const figures = () => new Map(all("#key-figures > div").map((each) => {
    const value = each.querySelector("dd");
    return [each.querySelector("dt").textContent, value.firstChild ? value.firstChild.textContent : ""];
  }));
  // Whether the form holds the numbers last tried, and none after them that make no coil.
  const isTried = () => {
    const last = { ...tried[0].numbers, ...tried[at].numbers };
    return Object.entries({ ...last, ...numbers() }).every(([name, value]) => value === last[name]);
  };
  const showHistory = () => {
    history.classList.toggle("hidden", tried.length < 2);
    undo.disabled = at < 1 && isTried();
    if (tried.length < 2) return;
    const names = [...new Set(tried.flatMap((each) => [...each.figures.keys()]))];
    const table = document.createElement("table"), head = document.createElement("tr");
    head.append(made("th", "numbers", { scope: "col" }), ...names.map((name) => made("th", name, { scope: "col" })), document.createElement("td"));
    table.append(head, ...tried.map((each, place) => {
      const row = document.createElement("tr"), take = made("button", place === at ? "shown" : "take", { type: "button", disabled: place === at });
      take.setAttribute("aria-label", `${take.textContent} ${each.says}`);
      take.addEventListener("click", () => goTo(place));
      const last = document.createElement("td");
      last.append(take);
      row.append(made("th", each.says, { scope: "row" }), ...names.map((name) => made("td", each.figures.get(name) || "–", { className: "number" })), last);
      return row;
    }));
    history.querySelector(".frame").replaceChildren(table);
  };
  const different = (values) => {
    const first = tried[0].numbers;
    const told = boxes().filter((box) => box.name in values && values[box.name] !== first[box.name]).map((box) => {
      const [name, unit = ""] = box.parentElement.firstChild.textContent.split(/, (?=[^,]*$)/);
      return `${name} ${values[box.name]} ${unit}`.trim();
    });
    return told.length ? told.join("; ") : "the file";
  };
  const record = (values) => {
    const name = different(values), same = tried.findIndex((each) => each.says === name);
    if (same >= 0) tried[same] = { ...tried[same], figures: figures() };
    else tried.push({ numbers: values, says: name, figures: figures() });
    at = same >= 0 ? same : tried.length - 1;
    showHistory();
  };
  const restart = () => {
    tried = [{ numbers: Object.fromEntries(boxes().map((box) => [box.name, box.valueAsNumber])), says: "the file", figures: figures() }];
    at = 0;
    showHistory();
  };
  const goTo = (place) => {
    at = place;
    // What another trial had chosen goes back to the file's.
    setNumbers({ ...tried[0].numbers, ...tried[place].numbers });
    if (place === 0) { toFile(); return; }
    setDirty(true);
    tryNumbers();
  };
  undo.addEventListener("click", () => goTo(isTried() ? at - 1 : at));

  // One trial is on its way at a time; of those that the hand passes meanwhile only the last is sent.
  let underway = false, waiting = false;
  const tryNumbers = async () => {
    asked += 1;
    giveUp();
    waiting = true;
    if (underway) return;
    underway = true;
    try {
      while (waiting) {
        waiting = false;
        const mine = asked, values = numbers(), reply = await post("/try", values);
        if (mine === asked) { if (showTrial(reply)) rest = setTimeout(() => refine(mine, values), 200); }
        else if (waiting && reply.parts) showTrial(reply);
      }
    } finally {
      underway = false;
    }
  };
  const showTrial = (reply) => {
    if (reply.superseded) return false; // the watch has ended, which is told
    if (reply.parts) figuresOf(reply);
    tell(reply.faults);
    save.disabled = reply.faults.length > 0;
    says.textContent = reply.faults.length ? "These numbers make no coil." : "Tried, not saved.";
    if (reply.faults.length) return false;
    renew(() => Object.entries(reply.parts).forEach(([id, text]) => put(id, text)));
    const fresh = Object.keys(reply.parts).map((id) => `#${id}`).join();
    all("#coil > section, #coil > .summary section").forEach((section) => {
      if (!section.matches(fresh) && !section.querySelector(fresh)) section.setAttribute("aria-busy", "true");
    });
    return true;
  };
  // Where the hand rests: forces beside cores about, at once; then all figures.
  const refine = async (mine, values) => {
    record(values);
    try {
      const about = await post("/try-soon", values, given.signal);
      if (mine !== asked) return;
      if (about.parts) Object.entries(about.parts).forEach(([id, text]) => put(id, text));
      const full = await post("/try-whole", values, given.signal);
      if (mine !== asked) return;
      if (full.content) figuresOf(full);
      tell(full.faults);
      if (!full.content) return;
      renew(() => put("coil", full.content));
      record(values);
    } catch (error) {
      if (error.name !== "AbortError") throw error;
    }
  };
  form.addEventListener("input", (event) => {
    const moved = event.target;
    if (moved.id === "more") return;
    if (moved.type === "range") boxes().find((box) => box.name === moved.dataset.for).value = moved.value;
    else slider(moved.name).value = moved.value;
    setDirty(true);
    undo.disabled = false;
    tryNumbers();
  });
  // A browser whose language has a decimal point drops a comma without a word: 0,3 would be tried as 3.
  const points = new Intl.NumberFormat().format(0.5).includes(".");
  form.addEventListener("beforeinput", (event) => {
    if (!points || event.target.type !== "number" || !(event.data || "").includes(",")) return;
    event.preventDefault();
    document.execCommand("insertText", false, event.data.replace(",", "."));
  });
  form.addEventListener("submit", (event) => event.preventDefault());

  // The variants of the saved file, side by side.
  const compare = one("#compare");
  compare.addEventListener("click", async () => {
    compare.disabled = true;
    says.textContent = `Comparing the variants of the file as it was ${ofFile.length ? "before its faults" : "saved"} …`;
    try {
      const reply = await post("/compare", {});
      if (reply.faults.length) tell(reply.faults);
      if (reply.content) put("compared", reply.content);
      says.textContent = reply.superseded ? "The comparison was left for the numbers tried." : "";
    } finally {
      compare.disabled = false;
    }
  });

  // A search of the saved file: best so far while it runs, then what was found with its design file.
  const search = one("#search"), sought = one("#sought");
  let following = false, toldLast = "";
  const showSought = (reply) => {
    search.disabled = Boolean(reply) && !reply.ended;
    const told = JSON.stringify(reply);
    if (told === toldLast) return; // a link under the pointer, or in focus, stays
    toldLast = told;
    const lines = reply ? [made("h2", "The search for the best board"), ...reply.says.map((line) => made("p", line))] : [];
    if (reply && reply.file) {
      const last = document.createElement("p");
      last.append(made("a", `Save ${reply.file.name}`, { href: reply.file.href, download: reply.file.name }));
      lines.push(last);
    }
    sought.replaceChildren(...lines);
  };
  const followSearch = async () => {
    if (following) return;
    following = true;
    try {
      let reply;
      do {
        reply = await (await fetch("/sought")).json();
        showSought(reply);
        if (reply && !reply.ended) await new Promise((later) => setTimeout(later, 400));
      } while (reply && !reply.ended);
    } catch {
      search.disabled = false;
    }
    following = false;
  };
  search.addEventListener("click", async () => {
    search.disabled = true;
    const reply = await post("/search", {});
    if (reply.faults.length) { tell(reply.faults); search.disabled = false; return; }
    await followSearch();
  });
  followSearch();

  const toFile = async (message = "") => {
    const mine = ++asked;
    waiting = false;
    giveUp();
    const reply = await (await fetch("/file")).json();
    if (mine !== asked) return;
    if (!reply.content) { tellOfFile(reply.faults); return; }
    const known = Object.keys(reply.numbers).join();
    if (known !== boxes().map((box) => box.name).join()) { location.reload(); return; }
    renew(() => put("coil", reply.content));
    const renewed = reply.since !== since;
    setNumbers(reply.numbers);
    version = shown = reply.version;
    since = newest = from = reply.since;
    tellOfFile(reply.faults);
    whole = reply.whole;
    search.hidden = !reply.searchable;
    compare.hidden = !reply.comparable;
    followSearch();
    says.textContent = message;
    setDirty(false);
    if (renewed) restart();
    else record(Object.fromEntries(boxes().map((box) => [box.name, box.valueAsNumber])));
  };
  back.addEventListener("click", () => toFile());
  save.addEventListener("click", async () => {
    const reply = await post("/save", numbers());
    tell(reply.faults);
    if (!reply.faults.length) await toFile("Saved.");
  });
  restart();

  const follow = async () => {
    try {
      const reply = await (await fetch("/status")).json();
      if (reply.version !== version) {
        if (dirty) {
          version = reply.version;
          ofFile = reply.faults;
          newest = reply.since;
          if (newest === since) shown = version; // the file says what it did
          tell();
        } else if (reply.faults.length) {
          version = reply.version;
          tellOfFile(reply.faults);
        } else {
          await toFile();
        }
      } else if (reply.whole && !whole && !dirty) {
        await toFile(says.textContent);
      }
      if (says.textContent === "coilgen watch has ended.") says.textContent = "";
    } catch {
      says.textContent = "coilgen watch has ended.";
    }
    setTimeout(follow, 250);
  };
  setTimeout(follow, 250);
})();
