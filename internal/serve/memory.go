package serve

import (
	"context"
	"strconv"
	"time"

	"github.com/danielgtaylor/huma/v2"
	"golang.org/x/sync/semaphore"
)

const (
	// batchMemory bounds what all batches under way may hold together, in bytes.
	batchMemory = 512 << 20
	// memoryWait is how long a batch waits for its share.
	memoryWait = 10 * time.Second
)

// memory is shared out among batches, so that many clients at once cannot
// exhaust what the server has.
type memory struct{ left *semaphore.Weighted }

func newMemory() *memory { return &memory{semaphore.NewWeighted(batchMemory)} }

// take waits for room for a body of that size, and for what it comes to if it
// is a workbook: unpacked, as texts, its answers, and as it goes.
func (m *memory) take(ctx context.Context, size int64, book bool) (leave func(), err error) {
	if book {
		size += 3*maxUnzipped + maxAnswers
	}
	timed, cancel := context.WithTimeout(ctx, memoryWait)
	defer cancel()
	if m.left.Acquire(timed, size) != nil {
		if ctx.Err() != nil {
			return nil, ctx.Err()
		}
		return nil, busy("too many batches at once; try again shortly")
	}
	return func() { m.left.Release(size) }, nil
}

// bodySize is what a body may come to: the length it declares, or the most.
func bodySize(c huma.Context) int64 {
	if n, err := strconv.ParseInt(c.Header("Content-Length"), 10, 64); err == nil && n >= 0 && n < maxRowsBody {
		return n
	}
	return maxRowsBody
}
