package serve

import (
	"strconv"
	"strings"
)

// preferred chooses of the media types offered the one that an Accept header
// gives the most weight (RFC 9110, 12.5.1), of equals the first; "" for none.
func preferred(accept string, offered []string) (best string) {
	most := 0.0
	for _, media := range offered {
		if q := weight(accept, media); q > most {
			best, most = media, q
		}
	}
	return best
}

// weight is that of the range that names the media type most closely. A weight
// that cannot be read is 0.
func weight(accept, media string) (q float64) {
	group, _, _ := strings.Cut(media, "/")
	nearest := 0
	for part := range strings.SplitSeq(accept, ",") {
		name, parameters, _ := strings.Cut(part, ";")
		name = strings.TrimSpace(name)
		near := 0
		switch above, isGroup := strings.CutSuffix(name, "/*"); {
		case strings.EqualFold(name, media):
			near = 3
		case isGroup && strings.EqualFold(above, group):
			near = 2
		case name == "*/*" || name == "*":
			near = 1
		}
		if near <= nearest {
			continue
		}
		nearest, q = near, 1
		for parameter := range strings.SplitSeq(parameters, ";") {
			if text, ok := strings.CutPrefix(strings.TrimSpace(parameter), "q="); ok {
				if q, _ = strconv.ParseFloat(text, 64); !(q >= 0 && q <= 1) {
					q = 0
				}
			}
		}
	}
	return q
}
