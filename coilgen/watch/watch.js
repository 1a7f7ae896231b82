
// Follows the file, and tries numbers: parts at once, the whole page when the hand rests.
(() => {
  const one = (selector) => document.querySelector(selector);
  const form = one("#trial"), save = one("#save"), back = one("#back"), says = one("#trial-says"), faults = one("#faults");
  // The newest version heard of, and the one whose numbers are in the form.
  let version = Number(form.dataset.version), shown = version, whole = form.dataset.whole === "true", dirty = false, asked = 0, rest = null;

  const post = async (path, numbers) => (await fetch(path, {
    method: "POST",
    headers: { "Content-Type": "application/json", "If-Match": `"${shown}"` },
    body: JSON.stringify(numbers),
  })).json();
  const inputs = () => [...form.querySelectorAll("input")];
  const numbers = () => Object.fromEntries(inputs().map((box) => [box.name, box.valueAsNumber]));
  const tell = (lines) => {
    faults.replaceChildren(...lines.map((line) => Object.assign(document.createElement("p"), { textContent: line })));
    one("#coil").classList.toggle("stale", lines.length > 0);
  };
  const setDirty = (value) => { dirty = value; save.disabled = back.disabled = !value; };

  // Layers that were off stay off when the content is new.
  const renew = (change) => {
    const boxes = () => [...document.querySelectorAll("[data-shows]")];
    const off = boxes().filter((box) => !box.checked).map((box) => box.dataset.shows);
    change();
    boxes().forEach((box) => { box.checked = !off.includes(box.dataset.shows); });
    if (one("#board-picture")) coilPage.start();
  };
  const put = (id, text) => { const part = document.getElementById(id); if (part) part.outerHTML = text; };

  const tryNumbers = async () => {
    const mine = ++asked, chosen = numbers();
    const reply = await post("/try", chosen);
    if (mine !== asked) return;
    tell(reply.faults);
    if (reply.faults.length) { says.textContent = "These numbers make no coil."; save.disabled = true; return; }
    save.disabled = false;
    says.textContent = "Tried, not saved.";
    renew(() => Object.entries(reply.parts).forEach(([id, text]) => put(id, text)));
    const fresh = Object.keys(reply.parts).map((id) => `#${id}`).join();
    document.querySelectorAll("#coil > section").forEach((section) => {
      if (!section.matches(fresh) && !section.querySelector(fresh)) section.setAttribute("aria-busy", "true");
    });
    clearTimeout(rest);
    rest = setTimeout(async () => {
      const all = await post("/try-whole", chosen);
      if (mine === asked && all.content) renew(() => put("coil", all.content));
    }, 500);
  };
  form.addEventListener("input", () => { setDirty(true); tryNumbers(); });
  form.addEventListener("submit", (event) => event.preventDefault());

  // A search of the saved file: best so far while it runs, then what was found with its design file.
  const search = one("#search"), sought = one("#sought");
  let following = false;
  const showSought = (reply) => {
    const lines = (reply ? reply.says : []).map((line) => Object.assign(document.createElement("p"), { textContent: line }));
    if (reply && reply.file) {
      const link = Object.assign(document.createElement("a"), { href: reply.file.href, download: reply.file.name, textContent: `Save ${reply.file.name}` });
      const last = document.createElement("p");
      last.append(link);
      lines.push(last);
    }
    sought.replaceChildren(...lines);
    search.disabled = Boolean(reply) && !reply.ended;
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
    clearTimeout(rest);
    const reply = await (await fetch("/file")).json();
    if (mine !== asked) return;
    if (!reply.content) { tell(reply.faults); return; }
    const known = Object.keys(reply.numbers).join();
    if (known !== inputs().map((box) => box.name).join()) { location.reload(); return; }
    renew(() => put("coil", reply.content));
    inputs().forEach((box) => { box.value = reply.numbers[box.name]; });
    tell(reply.faults);
    version = shown = reply.version;
    whole = reply.whole;
    search.hidden = !reply.searchable;
    followSearch();
    says.textContent = message;
    setDirty(false);
  };
  back.addEventListener("click", () => toFile());
  save.addEventListener("click", async () => {
    const reply = await post("/save", numbers());
    tell(reply.faults);
    if (!reply.faults.length) await toFile("Saved.");
  });

  const follow = async () => {
    try {
      const reply = await (await fetch("/status")).json();
      if (reply.version !== version) {
        if (dirty) {
          version = reply.version;
          tell(["The file has changed meanwhile; Back to the file shows it.", ...reply.faults]);
        } else if (reply.faults.length) {
          version = reply.version;
          tell(reply.faults);
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
