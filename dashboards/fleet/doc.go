// Package fleet is the pages for analysts: what each attribute of a build does
// and for whom, how sure that is, what speaks against it, and the trials and
// shots behind every number.
//
// Pages show answers that are kept (processors/ask/answers) and figures that are
// counted while the page waits; a question that nobody asked yet becomes a job,
// and the page shows how far it is. Every page can be bookmarked: its address
// says all of it.
package fleet
