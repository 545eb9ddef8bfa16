// Package gate says who may do what at the console's address. People have
// accounts with roles and a password; shared tablets are paired once and then
// switch between people by PIN; a screen on a wall sees pictures without names.
// One table (routes.go) names for every route the roles that reach it, and what
// is not in it reaches nobody. Who signed in, saw names, changed or erased them
// stands in a trail that is only ever appended to.
//
// What is kept stands below DATA/gate on the hub, readable by its owner alone:
// passwords and PINs as argon2id hashes, keys of sessions and devices as SHA-256
// of 256 random bits. Whoever may write there needs no password:
// `fairlead people` on the hub is the way back in.
package gate
