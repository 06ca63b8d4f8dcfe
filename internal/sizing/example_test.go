package sizing_test

import (
	"fmt"
	"math"
	"regexp"
	"strings"
	"testing"

	"pourwright/internal/sizing"
)

func ExampleSize() { // US 7: d = 0.458 in + 0.032 in × 7
	c, err := sizing.Size(sizing.US, "7")
	fmt.Printf("%.2f mm inside circumference, %.2f mm inside diameter, %v\n", c, c/math.Pi, err)
	_, err = sizing.Size("", "14")
	fmt.Println(err)
	// Output:
	// 54.42 mm inside circumference, 17.32 mm inside diameter, <nil>
	// system: give one of [circumference diameter us uk japan continental hong_kong] (continental also as swiss, italian, spanish or indian), as the same text means different sizes; "14" could be diameter (43.98 mm inside circumference), us (72.30 mm inside circumference), japan (54.45 mm inside circumference), continental (54.00 mm inside circumference), hong_kong (53.09 mm inside circumference)
}

func ExampleLabel() {
	for _, s := range sizing.Systems {
		label, value := sizing.Label(s, 54.421)
		fmt.Printf("%s %s (%.2f)\n", s, label, value)
	}
	// Output:
	// circumference 54 (54.42)
	// diameter 17.3 (17.32)
	// us 7 (7.00)
	// uk N½ (13.54)
	// japan 14 (13.97)
	// continental 14 1/2 (14.42)
	// hong_kong 15 (15.21)
}

func ExampleIndianSize() {
	d, _, _ := sizing.IndianSize("2-4")
	fmt.Printf("%.2f mm\n", d)
	// Output: 57.15 mm
}

func ExampleEllipseOf() { // 65 × 45 mm has a perimeter of 174.218568 mm
	w, h := sizing.EllipseOf(174.218568, 45.0/65)
	fmt.Printf("%.4f × %.4f mm\n", w, h)
	// Output: 65.0000 × 45.0000 mm
}

// FuzzSize: whatever is written, a size that is read is a ring's, and its label
// reads back to the same marked size.
func FuzzSize(f *testing.F) {
	for _, text := range []string{"7", "6 3/4", "00", "0000 3/4", "N½", "Z+3 1/2", "n.5", "ISO 8653-54", "0.682 in", "14,5", "7/0", "½", "\x00", "9e99", "-1", "Z+"} {
		for i := range sizing.Systems {
			f.Add(uint8(i), text)
		}
	}
	f.Fuzz(func(t *testing.T, system uint8, text string) {
		s := sizing.Systems[int(system)%len(sizing.Systems)]
		c, err := sizing.Size(s, text)
		if err != nil {
			return
		}
		if !(c >= 20 && c <= 130) {
			t.Fatalf("%s %q is %v mm", s, text, c)
		}
		label, _ := sizing.Label(s, c)
		back, err := sizing.Size(s, label)
		if err != nil {
			if strings.HasPrefix(label, "below ") {
				return // off the written scale
			}
			t.Fatalf("%s %q: label %q: %v", s, text, label, err)
		}
		if again, _ := sizing.Label(s, back); again != label {
			t.Fatalf("%s %q: label %q reads back as %q", s, text, label, again)
		}
	})
}

// FuzzIndianSize: what is read as inches and sixteenths is digits with a mark
// between them, and a bangle of 1 to 4 inches.
func FuzzIndianSize(f *testing.F) {
	f.Fuzz(func(t *testing.T, name string) {
		d, decimal, err := sizing.IndianSize(name)
		if err != nil {
			return
		}
		if !regexp.MustCompile(`^\d+([-.]\d+)?$`).MatchString(strings.ReplaceAll(strings.TrimSpace(name), " ", "")) || !(d >= 25.4 && d < 4*25.4) || decimal != strings.Contains(name, ".") {
			t.Fatalf("%q is %v mm, decimal %v", name, d, decimal)
		}
	})
}
