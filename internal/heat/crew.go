package heat

import (
	"sync"

	"github.com/sourcegraph/conc/panics"
)

// crew is a fixed set of goroutines that share out loops: a loop a stage, tens
// of thousands of them, so that starting goroutines each time would show.
type crew struct {
	size int
	jobs []chan func(worker int)
	done sync.WaitGroup
	hurt panics.Catcher // a worker's panic, which becomes the caller's
}

func newCrew(size int) *crew {
	c := &crew{size: size}
	for w := 1; w < c.size; w++ {
		jobs := make(chan func(int))
		c.jobs = append(c.jobs, jobs)
		go func() {
			for job := range jobs {
				c.hurt.Try(func() { job(w) })
				c.done.Done()
			}
		}()
	}
	return c
}

func (c *crew) dismiss() {
	for _, jobs := range c.jobs {
		close(jobs)
	}
}

// small loops are quicker done alone than shared.
const small = 2048

// share splits 0 … n among the crew and waits for all.
func (c *crew) share(n int, f func(from, to int)) {
	c.each(n, func(w int) { f(n*w/c.size, n*(w+1)/c.size) })
}

// each runs f for every worker's part of n and waits for all.
func (c *crew) each(n int, f func(worker int)) {
	if n < small {
		for w := range c.size {
			f(w)
		}
		return
	}
	c.done.Add(len(c.jobs))
	for _, jobs := range c.jobs {
		jobs <- f
	}
	f(0)
	c.done.Wait()
	c.hurt.Repanic()
}
