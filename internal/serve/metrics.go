package serve

import (
	"net/http"
	"strconv"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/collectors"
	"github.com/prometheus/client_golang/prometheus/promhttp"
)

// metrics are counted by route, method and status: no client, no content.
type metrics struct {
	registry *prometheus.Registry
	requests *prometheus.CounterVec
	seconds  *prometheus.HistogramVec
}

func newMetrics(g *gate) *metrics {
	m := &metrics{
		registry: prometheus.NewRegistry(),
		requests: prometheus.NewCounterVec(prometheus.CounterOpts{Name: "pourwright_requests_total", Help: "Requests answered."}, []string{"route", "method", "status"}),
		seconds: prometheus.NewHistogramVec(prometheus.HistogramOpts{Name: "pourwright_request_seconds", Help: "Time to answer a request.",
			Buckets: []float64{.0005, .001, .005, .02, .1, .5, 2, 10, 60}}, []string{"route"}),
	}
	m.registry.MustRegister(m.requests, m.seconds, collectors.NewGoCollector(), collectors.NewProcessCollector(collectors.ProcessCollectorOpts{}),
		prometheus.NewGaugeFunc(prometheus.GaugeOpts{Name: "pourwright_heavy_running", Help: "Heavy calculations under way."}, func() float64 { return float64(len(g.slots)) }),
		prometheus.NewGaugeFunc(prometheus.GaugeOpts{Name: "pourwright_heavy_waiting", Help: "Heavy calculations waiting for a place."}, func() float64 { return float64(g.waiting.Load()) }))
	return m
}

func (m *metrics) count(route, method string, status int, took time.Duration) {
	if route == "" {
		route = "none"
	}
	if status == 0 {
		status = http.StatusOK
	}
	m.requests.WithLabelValues(route, method, strconv.Itoa(status)).Inc()
	m.seconds.WithLabelValues(route).Observe(took.Seconds())
}

func (m *metrics) handler() http.Handler {
	return promhttp.HandlerFor(m.registry, promhttp.HandlerOpts{})
}
