// Package stock is the studio's catalogue and shelf: what parts there are, with
// their figures, tolerances, prices and bend limits as the studio knows them, how
// many of each lie there, which test club is which combination, what an order
// takes and costs, and what runs out. It reads price lists, and folds what was
// said; it does no I/O and reads no clock.
package stock
