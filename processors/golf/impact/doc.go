// Package impact computes what a club delivery does to the ball: ball speed,
// launch, direction and spin from clubhead speed, attack angle, dynamic loft,
// path, face angle and where on the face the ball was struck.
//
// # Model
//
// The ball is hit by a free head. Along the face's normal the impulse follows
// from the restitution; along the face the ball grips and leaves rolling, up
// to a calibrated factor, unless friction does not suffice. Without that
// factor and for a strike on the centre this is Penner 2001 (Am. J. Phys.
// 69:563) as printed, laid into the plane of club velocity and face normal
// (the D-plane, Jorgensen, The Physics of Golf, 1994): the ball leaves in that
// plane, nearer to the face normal than to the path, and spins about the axis
// at right angles to it.
//
// A strike off the centre sees less mass, 1/M' = 1/M + b²/I, and turns the
// head while the ball is on it. The turning face points elsewhere, and its
// sideways motion gears spin onto the ball.
//
// # Limits
//
// The head's mass and inertia, bulge and roll are physics. Three things are
// calibrated per category (see Head): the restitution, how far the ball's grip
// overshoots or falls short of rolling, and the friction. They were set so
// that ordinary deliveries give launches in the middle of what is common in
// the trade, not fitted to a published data set, since none is citable. Trust
// differences between two deliveries of one club before absolute numbers, and
// neither far outside head speeds of 20 to 60 m/s, spin lofts of 5 to 60° and
// strikes on the face.
//
// Everything here is pure: no I/O, no clock, no shared state.
package impact
