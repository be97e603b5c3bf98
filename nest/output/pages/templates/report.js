// Finds a job by its number, marks it on every drawing and table, prints one part alone.
(() => {
  const form = document.getElementById("find");
  const input = document.getElementById("find-number");
  const told = document.getElementById("found");
  const jobs = [...document.querySelectorAll("[data-job]")];
  const plain = text => text.normalize("NFKC").trim().toLowerCase();
  const clear = () => document.querySelectorAll(".found").forEach(one => one.classList.remove("found"));
  const link = (where, words) => {
    const out = document.createElement("a");
    out.href = `#${where}`;
    out.textContent = words;
    return out;
  };
  const list = links => links.flatMap((one, at) => (at ? [", ", one] : [one]));
  const show = row => {
    clear();
    const name = row.dataset.job.length > 40 ? `${row.dataset.job.slice(0, 40)}…` : row.dataset.job;
    document.querySelectorAll(`.${CSS.escape(row.id)}`).forEach(one => one.classList.add("found"));
    row.classList.add("found");
    const sheets = [...row.querySelectorAll("a[href^='#sheet-']")];
    const links = sheets.map(one => link(one.getAttribute("href").slice(1), one.textContent));
    told.replaceChildren(link(row.id, `Job ${name}`), links.length ? ": on " : ": on no sheet", ...list(links));
    row.scrollIntoView({block: "center"});
  };
  form.hidden = false;
  form.addEventListener("submit", event => {
    event.preventDefault();
    const wanted = plain(input.value);
    if (!wanted) { clear(); told.replaceChildren(); return; }
    const same = jobs.filter(row => plain(row.dataset.job) === wanted);
    const near = same.length ? same : jobs.filter(row => plain(row.dataset.job).includes(wanted));
    if (near.length === 1) { show(near[0]); return; }
    clear();
    if (!near.length) { told.replaceChildren("No job with this number."); return; }
    const links = near.slice(0, 12).map(row => {
      const out = link(row.id, row.dataset.job.slice(0, 40));
      out.addEventListener("click", () => show(row));
      return out;
    });
    const more = near.length > links.length ? ` and ${near.length - links.length} more` : "";
    told.replaceChildren(`${near.length} jobs: `, ...list(links), more);
  });
  document.querySelectorAll(".tools").forEach(one => { one.hidden = false; });
  for (const button of document.querySelectorAll("button[data-print]")) {
    button.addEventListener("click", () => {
      document.body.dataset.print = button.dataset.print;
      window.print();
      delete document.body.dataset.print;
    });
  }
  const folds = [...document.querySelectorAll("details")];
  for (const button of document.querySelectorAll("button[data-fold]")) {
    button.addEventListener("click", () => {
      const open = button.dataset.fold === "open";
      folds.forEach(one => { one.open = open; });
    });
  }
  window.addEventListener("beforeprint", () => folds.forEach(one => { one.open = true; }));
})();
