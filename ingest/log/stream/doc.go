// Package stream is the log between bays and hub, on NATS JetStream: the
// embedded broker, the declaration of streams and buckets, subjects,
// credentials, publishing and the clock exchange.
//
// The log is a carrier, not the keeper: shots are kept by the bays' journals
// until the store itself confirms them, visit events by the console's. So the
// SHOTS stream may be written behind (persist mode async), while everything
// else is synced on each write.
package stream
