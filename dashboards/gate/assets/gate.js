// A page that shows names does not outlive the session it was opened in.
setInterval(async () => {
  try {
    const answer = await fetch('/gate/still', { signal: AbortSignal.timeout(5000) });
    if (answer.status === 401) location.href = '/gate/in?to=' + encodeURIComponent(location.pathname + location.search);
  } catch { /* the console is away: the page says so itself */ }
}, 15000);
