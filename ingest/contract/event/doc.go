// Package event is the contract of the pipeline: what a bay's collector writes
// for every line of a device (Entry), what the fitter did and decided
// (VisitEvent), a club's specification (Build), and what bays and hub tell one
// another (Heartbeat, RepairRequest, Mark).
//
// The messages are protobuf; their comments give unit, sign and origin of each
// field. This package adds the tables that go with them (names, columns,
// quantities, ranges), the identity of a shot, and validation with a reason
// for each refused field. Messages are plain values: nothing here keeps or
// changes what it is given, except the functions that say so.
package event

//go:generate protoc --go_out=. --go_opt=paths=source_relative entry.proto build.proto visit.proto health.proto

// Contract is the version written by this program; readers refuse later ones.
const Contract = 1
