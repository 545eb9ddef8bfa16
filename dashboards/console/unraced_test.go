//go:build !race

package console

const raced = false
