package kiosk

// Words are what the steps are called, by their keys.
var Words = words
