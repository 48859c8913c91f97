//go:build noengine

package engine

import (
	"context"
	"errors"
)

// Engine is a node that runs; this build has none.
type Engine struct{}

var errNone = errors.New("this build has no engine in it; take the whole one, or run nodes of the engine " +
	"from its own program")

// Start fails: this build has no engine.
func Start(context.Context, Options) (*Engine, error) { return nil, errNone }

// URL is empty: this build has no engine.
func (e *Engine) URL() string { return "" }

// Wait fails: this build has no engine.
func (e *Engine) Wait(context.Context) error { return errNone }

// Close has nothing to stop, and no error.
func (e *Engine) Close() error { return nil }
