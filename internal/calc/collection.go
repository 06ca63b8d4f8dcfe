package calc

import (
	"context"
	"reflect"
)

// Collection is a catalogue that can be listed, filtered and looked up by id.
type Collection interface {
	Info() Info
	Filter() reflect.Type
	Page() reflect.Type
	Entry() reflect.Type
	// List takes a *Filter and returns a Page[Entry].
	List(ctx context.Context, filter any) (any, error)
	// Find returns the entry of that id, or a *Refusal that offers the nearest.
	Find(ctx context.Context, id string) (any, error)
	// AnyID is an id that is found, for the contract's example.
	AnyID() string
}

// Page is the answer to a listing.
type Page[Entry any] struct {
	Count int     `json:"count" doc:"Number of entries listed" example:"1"`
	Items []Entry `json:"items" doc:"The entries, in the order of the catalogue"`
}

// Collect makes a catalogue of entries. Filter is a flat struct tagged like
// the input of a calculation.
func Collect[Filter, Entry any](info Info, anyID string, list func(Filter) ([]Entry, error), find func(id string) (Entry, error)) Collection {
	return &collection[Filter, Entry]{info, anyID, list, find}
}

type collection[Filter, Entry any] struct {
	info  Info
	anyID string
	list  func(Filter) ([]Entry, error)
	find  func(string) (Entry, error)
}

func (c *collection[Filter, Entry]) Info() Info           { return c.info }
func (c *collection[Filter, Entry]) Filter() reflect.Type { return reflect.TypeFor[Filter]() }
func (c *collection[Filter, Entry]) Page() reflect.Type   { return reflect.TypeFor[Page[Entry]]() }
func (c *collection[Filter, Entry]) Entry() reflect.Type  { return reflect.TypeFor[Entry]() }
func (c *collection[Filter, Entry]) AnyID() string        { return c.anyID }

func (c *collection[Filter, Entry]) List(_ context.Context, filter any) (any, error) {
	items, err := c.list(*filter.(*Filter))
	if err != nil {
		return nil, err
	}
	if items == nil {
		items = []Entry{}
	}
	return Page[Entry]{len(items), items}, nil
}

func (c *collection[Filter, Entry]) Find(_ context.Context, id string) (any, error) {
	return c.find(id)
}
