// Package lead learns the air of each bay and of outside from the shop's lines
// up to a moment, for the lead's forecast. It is pure: now is an argument.
package lead
