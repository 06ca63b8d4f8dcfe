// Package calc is the mechanism every calculation of the program goes
// through: a pure function from a validated input to an answer that carries
// its working, its cautions and its sources.
//
// A subject calls [Define] once. The endpoints, the spreadsheet forms, the
// batch form and the contract are all made from that one definition, by
// package serve; nothing here knows of HTTP.
package calc

import (
	"context"
	"io"
	"reflect"
)

// Info describes a calculation to the people who call it.
type Info struct {
	Name        string // plural noun of the trade; the last part of the path
	Summary     string // one line
	Description string // Markdown, may be empty
	Subject     string // the heading it stands under in the contract
	Heavy       bool   // takes seconds rather than microseconds: queued and limited
}

// Example is a request as a user would send it. It must succeed as it stands.
type Example struct {
	Name    string
	Summary string
	JSON    string
}

// Calculation is a definition with its types erased, as package serve needs it.
type Calculation interface {
	Info() Info
	Examples() []Example
	In() reflect.Type
	Out() reflect.Type
	// Run takes a *In and returns an Out. Errors meant for the caller are *Refusal.
	Run(ctx context.Context, in any) (any, error)
	// Formats lists the further forms that an answer can be given in.
	Formats() []Format
	// Readers lists the further media types that an input can be read from.
	Readers() []Reader
}

// Format is a further form of an answer: a picture, a print, a solid.
type Format struct {
	MediaType string // "image/svg+xml"
	Name      string // what ?format= calls it: "svg"
	Summary   string
	write     func(ctx context.Context, in, out any) ([]byte, error)
}

// Write gives the answer out to the input in (a *In) in this form.
func (f Format) Write(ctx context.Context, in, out any) ([]byte, error) {
	return f.write(ctx, in, out)
}

// Reader fills part of an input from a request body of another media type;
// the rest of the input then comes from the query.
type Reader struct {
	MediaType string // "model/stl"
	MaxBytes  int64
	Summary   string
	read      func(body io.Reader, in any) error
}

// Read fills in (a *In) from body.
func (r Reader) Read(body io.Reader, in any) error { return r.read(body, in) }

// Option adds to a definition.
type Option func(*extras)

type extras struct {
	formats []Format
	readers []Reader
}

// As offers the answer in a further form. In and Out are the calculation's own.
func As[In, Out any](mediaType, name, summary string, write func(ctx context.Context, in In, out Out) ([]byte, error)) Option {
	return func(x *extras) {
		x.formats = append(x.formats, Format{mediaType, name, summary,
			func(ctx context.Context, in, out any) ([]byte, error) {
				return write(ctx, *in.(*In), out.(Out))
			}})
	}
}

// From accepts the input, or its bulky part, in a further media type. In is
// the calculation's own.
func From[In any](mediaType string, maxBytes int64, summary string, read func(body io.Reader, in *In) error) Option {
	return func(x *extras) {
		x.readers = append(x.readers, Reader{mediaType, maxBytes, summary,
			func(body io.Reader, in any) error { return read(body, in.(*In)) }})
	}
}

// Define makes a calculation of the function f.
//
// In and Out are plain structs. Their tags say everything that a caller must
// know: `json` the name with its unit, `doc` the meaning, `minimum`,
// `maximum`, `enum`, `minItems` and the like what is accepted, `default` what
// holds when the field is absent (an explicit zero stays zero). A field without default that
// may be absent is `json:",omitempty"` or a pointer. Out embeds [Notes] last.
func Define[In, Out any](info Info, examples []Example, f func(context.Context, In) (Out, error), options ...Option) Calculation {
	d := &definition[In, Out]{info: info, examples: examples, f: f}
	for _, option := range options {
		option(&d.extras)
	}
	return d
}

type definition[In, Out any] struct {
	info     Info
	examples []Example
	f        func(context.Context, In) (Out, error)
	extras
}

func (d *definition[In, Out]) Info() Info          { return d.info }
func (d *definition[In, Out]) Examples() []Example { return d.examples }
func (d *definition[In, Out]) In() reflect.Type    { return reflect.TypeFor[In]() }
func (d *definition[In, Out]) Out() reflect.Type   { return reflect.TypeFor[Out]() }
func (d *definition[In, Out]) Formats() []Format   { return d.formats }
func (d *definition[In, Out]) Readers() []Reader   { return d.readers }

func (d *definition[In, Out]) Run(ctx context.Context, in any) (any, error) {
	return d.f(ctx, *in.(*In))
}

// Sample is an example of the given name, summary and JSON.
func Sample(name, summary, json string) Example { return Example{name, summary, json} }
