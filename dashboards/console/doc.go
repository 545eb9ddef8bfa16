// Package console is the page that the fitter works with, and the only writer
// of visit events.
//
// Every event, from a form, the command line or another program, goes through
// Writer: it is checked, completed, made durable in the console's own journal
// and only then answered. From there it is carried to the log like a bay's
// shots, so what the fitter said is as safe as what the devices saw. Writing
// does not need the broker: with the hub away, events wait in the journal.
//
// What the page shows comes from the hub (processors/visit/rolling through NATS) and
// is pushed to browsers as it arrives. What the forms offer (the open session,
// its trials, the last build) comes from the console's own events, so a form
// never lags behind the event it follows.
package console
