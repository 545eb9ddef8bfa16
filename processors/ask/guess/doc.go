// Package guess drafts a field map from files that a device wrote: which column
// is what, in which unit, which side is positive, when a shot was hit and what
// names it. It goes by names, by units that stand in headers and cells, by the
// range of the values, and by whether the shots then fly as balls do (package
// plausible). What the files cannot tell it asks; it never settles by itself a
// side, the order of day and month, or a unit that the shots leave open.
package guess
