// Package frame is what the commands have in common: which arguments and flags they
// take, the configuration, store or console they speak to, how a process of the
// studio begins, how an answer is told, and the exit code. A command adds its flags
// and what it does.
package frame
