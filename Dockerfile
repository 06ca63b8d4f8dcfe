FROM golang:1.26 AS build
WORKDIR /src
COPY go.mod go.sum ./
RUN go mod download
COPY . .
RUN CGO_ENABLED=0 go build -trimpath -ldflags="-s -w" -o /pourwright ./cmd/pourwright

FROM scratch
COPY --from=build /pourwright /pourwright
USER 65534:65534
ENV POURWRIGHT_ADDR=0.0.0.0:8080
EXPOSE 8080
HEALTHCHECK --interval=10s --timeout=4s --start-period=5s CMD ["/pourwright", "health"]
ENTRYPOINT ["/pourwright"]
CMD ["serve"]
