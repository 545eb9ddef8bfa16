// Package relay carries journals to the log: it publishes what they hold,
// publishes again what the store misses, and learns from the hub what may be
// trimmed. Bays use it for entries, the console for visit events.
package relay
