// Package compose holds a container set-up of a studio's hub. No container
// engine was at hand: the tests read it as text, load its configurations with
// the program and hold ports and paths against one another.
package compose
