// A question on its way: show its steps, go to the answer when it is there.
const at = document.querySelector("[data-job]");
if (at) {
  const source = new EventSource("/fleet/jobs/" + at.dataset.job + "/events");
  source.onmessage = (e) => {
    const job = JSON.parse(e.data);
    at.textContent = job.state === "failed" ? job.error : job.step || job.state;
    if (job.state === "done") location.replace("/fleet/?answer=" + job.answer);
    if (job.state === "failed") source.close();
  };
}
// A choice is made as soon as it is chosen.
for (const s of document.querySelectorAll("form[data-now] select")) s.addEventListener("change", () => s.form.requestSubmit());
