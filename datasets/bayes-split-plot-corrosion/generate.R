# Posterior of a split-plot model by adaptive integration over the SD ratio with dense matrices.
# Data: Box (1996), corrosion of steel bars. Needs base R and jsonlite.
suppressMessages(library(jsonlite))
d <- data.frame(run = factor(rep(1:6, each = 4)), temp = rep(c(360, 370, 380, 380, 370, 360), each = 4), coating = factor(rep(paste0("C", 1:4), 6)),
  y = c(67, 73, 83, 89, 65, 91, 87, 86, 155, 127, 147, 212, 108, 100, 90, 153, 140, 142, 121, 150, 33, 8, 46, 54))
contrasts(d$coating) <- contr.sum(4); d$xt <- (d$temp - 370) / 10
X <- model.matrix(~ xt + coating, d); Z <- model.matrix(~ 0 + run, d); y <- d$y; n <- 24; p <- 5
flat <- list(K = matrix(0, p, p), m = rep(0, p), nu0 = 0, s0 = 0, prior = function(eta) 2 / (pi * (1 + eta^2)))
carried <- list(K = diag(c(0, 8, 0, 4, 0)), m = c(0, 30, 0, -5, 0), nu0 = 6, s0 = 250,
  prior = function(eta) dlnorm(eta, log(1.5), 0.5))
at <- function(eta, pr) { V <- diag(n) + eta^2 * tcrossprod(Z); Vi <- solve(V); A <- t(X) %*% Vi %*% X + pr$K
  Ai <- solve(A); rhs <- t(X) %*% Vi %*% y + pr$K %*% pr$m; b <- drop(Ai %*% rhs)
  ss <- drop(t(y) %*% Vi %*% y + t(pr$m) %*% pr$K %*% pr$m - t(rhs) %*% b) + pr$nu0 * pr$s0
  nu <- n - p + sum(diag(pr$K) > 0) + pr$nu0
  list(Vi = Vi, Ai = Ai, b = b, ss = ss, nu = nu,
    log = -0.5 * determinant(V)$modulus[1] - 0.5 * determinant(A)$modulus[1] - nu / 2 * log(ss) + log(pr$prior(eta))) }
run <- function(pr) {
  grid <- exp(seq(-8, 5, length.out = 400)); top <- max(sapply(grid, function(e) at(e, pr)$log))
  over <- function(f) { g <- function(v) sapply(v, function(t) { e <- exp(t); s <- at(e, pr); f(e, s) * exp(s$log - top) * e })
    sum(sapply(list(c(-40, -6), c(-6, -2), c(-2, 0), c(0, 1), c(1, 2), c(2, 4), c(4, 10)), function(r) integrate(g, r[1], r[2], rel.tol = 1e-11, abs.tol = 0, subdivisions = 2000)$value)) }
  whole <- over(function(e, s) 1); nu <- at(1, pr)$nu
  post <- function(f) over(f) / whole
  coef <- lapply(1:p, function(j) { m <- post(function(e, s) s$b[j]); v <- post(function(e, s) s$ss / (nu - 2) * s$Ai[j, j] + (s$b[j] - m)^2)
    cdf <- function(q) post(function(e, s) pt((q - s$b[j]) / sqrt(s$ss / nu * s$Ai[j, j]), nu))
    lim <- function(q) uniroot(function(x) cdf(x) - q, m + c(-12, 12) * sqrt(v), tol = 1e-9)$root
    list(mean = m, sd = sqrt(v), low = lim(0.025), high = lim(0.975), positive = 1 - cdf(0)) })
  x0 <- c(1, 0.5, 1, 0, 0)
  fresh <- { m <- post(function(e, s) sum(x0 * s$b)); v <- post(function(e, s) s$ss / (nu - 2) * (drop(x0 %*% s$Ai %*% x0) + 1 + e^2) + (sum(x0 * s$b) - m)^2); list(mean = m, sd = sqrt(v)) }
  z <- Z[, 3]
  same <- { f <- function(e, s) { c1 <- e^2 * drop(z %*% s$Vi); l <- x0 - drop(c1 %*% X); list(m = sum(x0 * s$b) + sum(c1 * (y - X %*% s$b)), v = s$ss / (nu - 2) * (drop(l %*% s$Ai %*% l) + 1 + e^2 - e^2 * sum(c1 * z))) }
    m <- post(function(e, s) f(e, s)$m); v <- post(function(e, s) { g <- f(e, s); g$v + (g$m - m)^2 }); list(mean = m, sd = sqrt(v)) }
  list(coefficients = setNames(coef, colnames(X)), residual_variance_mean = post(function(e, s) s$ss / (nu - 2)),
    whole_variance = list(mean = post(function(e, s) e^2 * s$ss / (nu - 2)), below_1000 = post(function(e, s) pchisq(e^2 * s$ss / 1000, nu, lower.tail = FALSE))),
    fresh_plot = fresh, same_plot_3 = same) }
write_json(list(id = "bayes-split-plot-corrosion", title = "Posterior of a split-plot model, corrosion of steel bars", tool = paste0("R ", getRversion(), ", base integrate"), expected = list(weak = run(flat), carried = run(carried))),
  "expected.json", digits = I(15), auto_unbox = TRUE, pretty = TRUE)
