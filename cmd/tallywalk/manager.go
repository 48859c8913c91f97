package main

import (
	"context"
	"sync"
)

// managerAsks is what a service manager wants of a service.
type managerAsks int

const (
	asksOther managerAsks = iota
	asksState
	asksStop
)

// serviceState is what a service says of itself.
type serviceState int

const (
	isStarting serviceState = iota
	isRunning
	isStopping
)

// managed runs the program under a service manager and gives its exit status. What the
// manager asks comes as values of its own kind, which meaning reads; say answers it: at
// first, when the server answers, when it ends, and when it is asked.
func managed[A any](
	asked <-chan A, meaning func(A) managerAsks, say func(serviceState),
	runs func(ctx context.Context, ready func()) int,
) int {
	ctx, stop := context.WithCancel(context.Background())
	defer stop()
	answers, ended := make(chan struct{}), make(chan int, 1)
	state := isStarting
	say(state)
	go func() { ended <- runs(ctx, sync.OnceFunc(func() { close(answers) })) }()
	for {
		select {
		case <-answers:
			answers = nil
			if state == isStarting {
				state = isRunning
				say(state)
			}
		case a := <-asked:
			switch meaning(a) {
			case asksState:
				say(state)
			case asksStop:
				state = isStopping
				say(state)
				stop()
			}
		case code := <-ended:
			return code
		}
	}
}
