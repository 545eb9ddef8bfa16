// Package enquiry answers the questions that a group of studios asks of what it
// stored, each as a table with a sentence on top: which heads do more than their
// figures, what to stock, whose promises hold, where another hundred players would
// teach most. Kinds lists them. An answer is kept under an id that follows from
// question and data (answers.Identity), so asking the same of the same data again
// reads it; command, page and address say the same Table.
package enquiry
