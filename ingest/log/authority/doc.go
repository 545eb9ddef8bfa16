// Package authority is a studio's own certificate authority: what its listeners
// show, what tablets are told to trust, and what each bay holds its hub against.
//
// The authority's key lies in one file of the hub. What a listener shows is made
// by the process that listens, in its memory, and made anew before it ends: no
// certificate of a listener has to be copied, renewed or looked after by anybody.
package authority
