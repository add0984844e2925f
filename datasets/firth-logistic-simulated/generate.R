# Penalised logistic fits by direct optimisation of ln L + 1/2 ln det X'WX with general optimisers, so
# neither the modified score nor scoring is used. Invented data. Needs base R and jsonlite.
suppressMessages(library(jsonlite))
RNGkind("Mersenne-Twister", "Inversion", "Rejection"); set.seed(23)
n <- 26
d <- data.frame(level = rep(c(-1, 0, 1), length.out = n), rpm = round(runif(n, -1, 1), 2), fan = round(runif(n, -1, 1), 2))
d$mixed <- as.integer(runif(n) < plogis(0.6 + 1.6 * d$level - 0.9 * d$rpm))
d$split <- as.integer(0.2 + d$level - 0.5 * d$rpm > 0)       # separated by level and rpm
objective <- function(b, X, y) { eta <- drop(X %*% b); p <- plogis(eta)
  -(sum(y * plogis(eta, log.p = TRUE) + (1 - y) * plogis(-eta, log.p = TRUE)) + 0.5 * determinant(t(X) %*% (X * (p * (1 - p))))$modulus[1]) }
minimum <- function(f, start) { b <- start
  for (i in 1:6) b <- optim(b, f, method = "BFGS", control = list(reltol = 1e-16, maxit = 2000, ndeps = rep(1e-5, length(b))))$par
  for (i in 1:4) b <- optim(b, f, method = "Nelder-Mead", control = list(reltol = 1e-17, maxit = 20000))$par
  list(par = b, value = f(b)) }
fit <- function(y) { X <- model.matrix(~ level + rpm + fan, d); p <- 4
  top <- minimum(function(b) objective(b, X, y), rep(0, p)); pr <- plogis(drop(X %*% top$par))
  se <- sqrt(diag(solve(t(X) %*% (X * (pr * (1 - pr))))))
  # the profile of separated outcomes is flat far out, so the search starts from several points
  prof <- function(j, v) { f <- function(b) { full <- numeric(p); full[j] <- v; full[-j] <- b; objective(full, X, y) }
    2 * (min(sapply(c(1, 2, 4, 6), function(k) minimum(f, k * top$par[-j])$value)) - top$value) }
  limit <- function(j, side) { far <- top$par[j] + side * 2 * se[j]; while (prof(j, far) < qchisq(0.95, 1)) far <- far + side * se[j]
    uniroot(function(v) prof(j, v) - qchisq(0.95, 1), sort(c(top$par[j], far)), tol = 1e-9)$root }
  list(penalised = -top$value, coefficients = setNames(lapply(1:p, function(j) { chi <- prof(j, 0)
    list(estimate = top$par[j], se = se[[j]], low = limit(j, -1), high = limit(j, 1), chi_squared = chi, p = pchisq(chi, 1, lower.tail = FALSE)) }), colnames(X))) }
out <- list(mixed = fit(d$mixed), separated = fit(d$split))
write_json(list(columns = names(d), rows = unname(as.matrix(d))), "data.json", digits = NA, matrix = "rowmajor")
write_json(list(id = "firth-logistic-simulated", title = "Pass or fail with and without separation (invented data)", tool = paste0("R ", getRversion(), ", base optim"), expected = out),
  "expected.json", digits = I(15), auto_unbox = TRUE, pretty = TRUE)
