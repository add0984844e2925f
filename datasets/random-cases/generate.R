# Random layouts, models and readings with what base R, lme4, pbkrtest, lmerTest, MASS and car make
# of them. All data are invented.
#
#   Rscript generate.R [cases of each kind, default 6] [seed, default 20261128] [file, default cases.json]
suppressMessages({library(lme4); library(pbkrtest); library(lmerTest); library(MASS); library(car); library(jsonlite); library(numDeriv)})
given <- commandArgs(TRUE)
count <- if (length(given) > 0) as.integer(given[1]) else 6
seed <- if (length(given) > 1) as.integer(given[2]) else 20261128
file <- if (length(given) > 2) given[3] else "cases.json"
RNGkind("Mersenne-Twister", "Inversion", "Rejection")
pick <- function(x) x[sample.int(length(x), 1)]

# Factors: numeric ones on ranges of their own, named ones with two to four levels.
some_factors <- function(k, named = FALSE) {
  out <- lapply(seq_len(k), function(i) {
    low <- round(runif(1, -50, 300), 1); list(name = letters[i], low = low, high = round(low + runif(1, 2, 80), 1)) })
  if (named) out <- c(out, list(list(name = "kind", levels = c("one", "two", "three", "four")[1:sample(2:4, 1)])))
  out
}
is_named <- function(f) !is.null(f$levels)
coded <- function(d, factors) { for (f in factors) d[[f$name]] <- if (is_named(f)) factor(d[[f$name]], f$levels) else (2 * d[[f$name]] - f$low - f$high) / (f$high - f$low); d }
contrasts_of <- function(factors) { c <- list(); for (f in factors) if (is_named(f)) c[[f$name]] <- "contr.sum"; if (length(c)) c else NULL }

# Terms of a model by name, each as an R formula piece and as powers.
pieces <- function(factors, model) {
  one <- lapply(factors, function(f) if (is_named(f)) lapply(head(f$levels, -1), function(l) setNames(list(l), f$name)) else list(setNames(list(1), f$name)))
  out <- lapply(seq_along(factors), function(i) list(r = factors[[i]]$name, powers = one[[i]]))
  if (model != "main" && length(factors) > 1) for (i in 1:(length(factors) - 1)) for (j in (i + 1):length(factors))
    out <- c(out, list(list(r = paste0(factors[[i]]$name, ":", factors[[j]]$name), powers = unlist(lapply(one[[i]], function(a) lapply(one[[j]], function(b) c(a, b))), recursive = FALSE))))
  if (model == "quadratic") for (f in factors) if (!is_named(f)) out <- c(out, list(list(r = paste0("I(", f$name, "^2)"), powers = list(setNames(list(2), f$name)))))
  out
}
# In the order of R's columns: R puts second-order terms of one variable before products.
formula_of <- function(ps, left = "y", right = "") as.formula(paste(left, "~", paste(sapply(ps, `[[`, "r"), collapse = " + "), right))

# Columns by R's names to powers, so that results are compared by term whatever their order.
key_of <- function(x, ps, factors, d) {
  names_r <- colnames(x); out <- vector("list", length(names_r)); out[[1]] <- setNames(list(), character(0))
  assigned <- attr(x, "assign"); labels <- attr(terms(formula_of(ps)), "term.labels")
  seen <- integer(length(labels))
  for (j in seq_along(names_r)[-1]) {
    piece <- Filter(function(p) p$r == labels[assigned[j]], ps)[[1]]
    if (length(piece$powers) == 1) { out[[j]] <- piece$powers[[1]]; next }
    # sum contrasts are named kind1, kind2 …; the number picks the level
    part <- strsplit(names_r[j], ":")[[1]]; number <- as.integer(sub("^kind", "", part[grepl("^kind[0-9]", part)]))
    out[[j]] <- piece$powers[[number]]
  }
  out
}
settings <- function(n, factors, levels = FALSE) { d <- data.frame(row.names = seq_len(n))
  for (f in factors) d[[f$name]] <- if (is_named(f)) sample(rep_len(f$levels, n)) else if (levels) f$low + (f$high - f$low) * sample(rep_len(c(0, 0.5, 1), n)) else round(runif(n, f$low, f$high), 2)
  d }
# R takes squares before products, so a quadratic model is spelt out in its order of columns.
case <- function(kind, factors, model, d, extra, expected) list(kind = kind, spec = c(list(factors = factors, model = if (model == "quadratic") list(terms = expected$terms) else model), extra), columns = names(d), rows = lapply(seq_len(nrow(d)), function(i) unname(as.list(d[i, ]))), expected = expected)

least_squares <- function() repeat {
  k <- sample(1:4, 1); named <- runif(1) < 0.4; factors <- some_factors(k, named)
  model <- pick(c("main", "interactions", "quadratic")); ps <- pieces(factors, model)
  n <- sample(12:60, 1); d <- settings(n, factors, levels = runif(1) < 0.5); z <- coded(d, factors)
  x <- model.matrix(formula_of(ps, left = ""), z, contrasts.arg = contrasts_of(factors)); p <- ncol(x)
  if (p > n - 3 || qr(x)$rank < p || kappa(x, exact = TRUE) > 200) next
  if (max(hat(x)) > 0.999) next
  scale <- 10^runif(1, -4, 4); center <- pick(c(0, 1, 100, 1e6)) * scale
  d$y <- signif(center + scale * (drop(x %*% rnorm(p)) + rnorm(n)), 12); z$y <- d$y
  weighted <- runif(1) < 0.3; w <- rep(1, n); if (weighted) { w <- round(runif(n, 0.2, 4), 3); d$w <- w }
  z$w <- w
  m <- lm(formula_of(ps), z, weights = w, contrasts = contrasts_of(factors)); s <- summary(m); b <- coef(s)
  key <- key_of(model.matrix(m), ps, factors, z)
  a1 <- anova(m); a3 <- Anova(m, type = 3)
  at <- settings(2, factors); za <- coded(at, factors); za$w <- 1
  pr <- predict(m, za, interval = "prediction", weights = 1); cf <- predict(m, za, interval = "confidence", se.fit = TRUE)
  l <- model.matrix(delete.response(terms(m)), za, contrasts.arg = contrasts_of(factors)); l <- l[1, ] - l[2, ]
  difference <- sum(l * coef(m)); error <- sqrt(drop(t(l) %*% vcov(m) %*% l))
  return(case("least-squares", factors, model, d, list(responses = list(c(list(name = "y", kind = "continuous"), if (weighted) list(weight = "w"))),
      contrasts = list(list(name = "difference", at = as.list(at[1, , drop = FALSE]), less = as.list(at[2, , drop = FALSE])))),
    list(terms = key, estimate = unname(b[, 1]), se = unname(b[, 2]), p = unname(b[, 4]), sigma = s$sigma, r2 = s$r.squared, adjusted = s$adj.r.squared,
      press = sum(w * (residuals(m) / (1 - hatvalues(m)))^2), aic = AIC(m), bic = BIC(m), log_likelihood = as.numeric(logLik(m)),
      sequential = list(source = rownames(a1), ss = a1[[2]], df = a1[[1]], p = a1[[5]]), partial = list(source = rownames(a3), ss = a3[[1]], df = a3[[2]], p = a3[[4]]),
      hat = unname(hatvalues(m)), studentised = unname(rstandard(m)), deleted = unname(rstudent(m)), cook = unname(cooks.distance(m)),
      at = at, mean = unname(cf$fit[, 1]), mean_low = unname(cf$fit[, 2]), mean_high = unname(cf$fit[, 3]), new_low = unname(pr[, 2]), new_high = unname(pr[, 3]),
      difference = c(difference, error, 2 * pt(-abs(difference / error), m$df.residual)))))
}

ctl <- lmerControl(optimizer = "bobyqa", optCtrl = list(rhobeg = 0.2, rhoend = 1e-11, maxfun = 1e5), check.conv.grad = "ignore", check.conv.hess = "ignore", check.conv.singular = "ignore")
nested <- function(strata) repeat {
  factors <- some_factors(sample(2:3, 1)); model <- pick(c("main", "interactions", "quadratic")); ps <- pieces(factors, model)
  plots <- sample(6:14, 1); sizes <- sample(2:5, plots, TRUE); wp <- rep(seq_len(plots), sizes * strata); n <- length(wp)
  sp <- if (strata == 2) unlist(lapply(sizes, function(s) rep(1:2, each = s))) else NULL
  d <- settings(n, factors, levels = TRUE)
  hard <- factors[[1]]; d$a <- (hard$low + (hard$high - hard$low) * sample(rep_len(c(0, 0.5, 1), plots)))[wp]
  if (strata == 2) { f <- factors[[2]]; id <- match(paste(wp, sp), unique(paste(wp, sp))); d$b <- (f$low + (f$high - f$low) * sample(rep_len(c(0, 0.5, 1), max(id))))[id] }
  z <- coded(d, factors); x <- model.matrix(formula_of(ps, left = ""), z); p <- ncol(x)
  if (p > n - 6 || qr(x)$rank < p || kappa(x, exact = TRUE) > 100) next
  W <- factor(wp); S <- if (strata == 2) factor(paste(wp, sp)) else W
  # leave df in each stratum
  if (qr(cbind(x, model.matrix(~ W)))$rank - p < 2 || n - qr(cbind(x, model.matrix(~ S)))$rank < 3) next
  if (strata == 2 && qr(cbind(x, model.matrix(~ S)))$rank - qr(cbind(x, model.matrix(~ W)))$rank < 2) next
  sd_w <- pick(c(0, 0.3, 1, 3)); sd_s <- if (strata == 2) pick(c(0, 0.5, 1.5)) else 0
  d$y <- signif(pick(c(0, 50, 1e4)) + drop(x %*% rnorm(p)) + rnorm(plots, 0, sd_w)[wp] + rnorm(nlevels(S), 0, sd_s)[as.integer(S)] + rnorm(n), 10)
  z$y <- d$y; z$W <- W; z$S <- S; d$plot <- paste0("p", wp); if (strata == 2) d$part <- paste0("q", sp)
  right <- if (strata == 2) "+ (1 | W) + (1 | S)" else "+ (1 | W)"
  fit <- function(ps) suppressMessages(lmer(formula_of(ps, right = right), z, control = ctl))
  m <- fit(ps); v <- as.data.frame(VarCorr(m)); kr <- try(suppressWarnings(vcovAdj(m)), silent = TRUE); if (inherits(kr, "try-error")) next
  ddf <- try(sapply(seq_len(p), function(i) get_Lb_ddf(m, as.numeric(seq_len(p) == i))), silent = TRUE); if (inherits(ddf, "try-error") || any(!is.finite(ddf))) next
  sat <- try(suppressMessages(coef(summary(m, ddf = "Satterthwaite"))[, "df"]), silent = TRUE); if (inherits(sat, "try-error")) sat <- NULL
  joint <- if (length(ps) > 2) { k <- try(suppressWarnings(KRmodcomp(m, fit(ps[1]))$test), silent = TRUE); if (inherits(k, "try-error")) NULL else list(ndf = k["Ftest", "ndf"], ddf = k["Ftest", "ddf"], f = k["Ftest", "stat"], p = k["Ftest", "p.value"]) }
  key <- key_of(x, ps, factors, z)
  return(case(if (strata == 2) "two-strata" else "split-plot", factors, model, d, c(list(responses = list(list(name = "y", kind = "continuous")), wholePlot = "plot"), if (strata == 2) list(subWholePlot = "part")),
    list(terms = key, estimate = unname(fixef(m)), se = unname(sqrt(diag(as.matrix(vcov(m))))), kr_se = unname(sqrt(diag(as.matrix(kr)))), kr_df = ddf, satterthwaite = unname(sat),
      variances = setNames(as.list(v$vcov), v$grp), reml = as.numeric(REMLcrit(m)), singular = isSingular(m), joint = joint)))
}

counts <- function() repeat {
  factors <- some_factors(sample(1:3, 1)); model <- pick(c("main", "interactions", "quadratic")); ps <- pieces(factors, model)
  n <- sample(12:48, 1); d <- settings(n, factors, levels = TRUE); z <- coded(d, factors); x <- model.matrix(formula_of(ps, left = ""), z); p <- ncol(x)
  if (p > n - 5 || qr(x)$rank < p || kappa(x, exact = TRUE) > 100) next
  d$metres <- round(runif(n, 2, 40), 1); family <- pick(c("poisson", "quasi-poisson", "negative-binomial"))
  mu <- d$metres * exp(runif(1, -2, 1) + drop(x[, -1, drop = FALSE] %*% rnorm(p - 1, 0, 0.5)))
  d$y <- if (family == "poisson") rpois(n, mu) else rnbinom(n, mu = mu, size = pick(c(1, 3, 10))); z$y <- d$y; z$metres <- d$metres
  if (max(d$y) > 5000 || sum(d$y > 0) < p + 3) next
  f <- formula_of(ps, right = "+ offset(log(metres))")
  g <- suppressWarnings(if (family == "negative-binomial") try(glm.nb(f, z, control = glm.control(epsilon = 1e-14, maxit = 200)), silent = TRUE) else glm(f, if (family == "poisson") poisson else quasipoisson, z, control = glm.control(epsilon = 1e-14, maxit = 200)))
  if (inherits(g, "try-error") || any(abs(coef(g)) > 6)) next
  if (family == "negative-binomial" && (!is.null(g$th.warn) || g$theta > 500)) next
  b <- coef(summary(g))
  return(case("count", factors, model, d, list(responses = list(list(name = "y", kind = "count", exposure = "metres", family = family))),
    list(family = family, terms = key_of(x, ps, factors, z), estimate = unname(b[, 1]), se = unname(b[, 2]), p = unname(b[, 4]), deviance = deviance(g), pearson = sum(residuals(g, "pearson")^2), theta = g$theta, log_likelihood = if (family == "quasi-poisson") NULL else as.numeric(logLik(g)))))
}

# Laplace likelihood written out, v = coefficients and the SD between plots: glmer's own errors rest on
# differences of a function good to a few digits, and are off by up to 2e-3.
laplace <- function(x, y, offset, g) function(v) {
  p <- ncol(x); s <- v[p + 1]; base <- drop(x %*% v[seq_len(p)]) + offset; sum(sapply(split(seq_along(y), g), function(i) {
    u <- 0; for (k in 1:80) { m <- exp(base[i] + s * u); u <- u - (u - s * sum(y[i] - m)) / (1 + s^2 * sum(m)) }
    m <- exp(base[i] + s * u); sum(y[i] * (base[i] + s * u) - m - lgamma(y[i] + 1)) - u^2 / 2 - log(1 + s^2 * sum(m)) / 2 })) }
mixed_counts <- function() repeat {
  factors <- some_factors(2); model <- pick(c("main", "interactions")); ps <- pieces(factors, model)
  plots <- sample(6:12, 1); sizes <- sample(2:5, plots, TRUE); wp <- rep(seq_len(plots), sizes); n <- length(wp); d <- settings(n, factors, levels = TRUE)
  hard <- factors[[1]]; d$a <- (hard$low + (hard$high - hard$low) * sample(rep_len(c(0, 0.5, 1), plots)))[wp]
  z <- coded(d, factors); x <- model.matrix(formula_of(ps, left = ""), z); p <- ncol(x)
  if (qr(x)$rank < p || kappa(x, exact = TRUE) > 50 || qr(cbind(x, model.matrix(~ factor(wp))))$rank - p < 2) next
  d$metres <- round(runif(n, 2, 40), 1); sd_w <- pick(c(0, 0.3, 0.8))
  mu <- d$metres * exp(runif(1, -2, 1) + drop(x[, -1, drop = FALSE] %*% rnorm(p - 1, 0, 0.4)) + rnorm(plots, 0, sd_w)[wp])
  d$y <- rpois(n, mu); d$plot <- paste0("p", wp); z$y <- d$y; z$metres <- d$metres; z$W <- factor(wp)
  if (max(d$y) > 3000 || sum(d$y > 0) < p + 4) next
  g <- suppressMessages(suppressWarnings(try(glmer(formula_of(ps, right = "+ offset(log(metres)) + (1 | W)"), z, poisson, nAGQ = 1, control = glmerControl(optimizer = "bobyqa", optCtrl = list(rhobeg = 0.1, rhoend = 1e-9, maxfun = 1e5), tolPwrss = 1e-13, check.conv.singular = "ignore")), silent = TRUE)))
  if (inherits(g, "try-error")) next
  f <- laplace(x, d$y, log(d$metres), wp); top <- c(fixef(g), sqrt(unlist(VarCorr(g))[[1]])); free <- if (top[p + 1] > 1e-4) seq_len(p + 1) else seq_len(p)
  h <- function(u) { top[free] <- u; -f(top) }; for (i in 1:3) top[free] <- optim(top[free], h, method = "BFGS", control = list(reltol = 1e-15))$par
  b <- cbind(top[seq_len(p)], sqrt(diag(solve(hessian(h, top[free], method.args = list(r = 6)))))[seq_len(p)])
  return(case("mixed-count", factors, model, d, list(responses = list(list(name = "y", kind = "count", exposure = "metres")), wholePlot = "plot"),
    list(terms = key_of(x, ps, factors, z), estimate = unname(b[, 1]), se = unname(b[, 2]), sd = unname(top[p + 1]), glmer = unname(fixef(g)), log_likelihood = f(top))))
}

# Firth: the likelihood times the square root of its information, maximised directly.
pass_fail <- function() repeat {
  factors <- some_factors(sample(1:3, 1)); model <- pick(c("main", "interactions")); ps <- pieces(factors, model)
  n <- sample(10:40, 1); d <- settings(n, factors, levels = TRUE); z <- coded(d, factors); x <- model.matrix(formula_of(ps, left = ""), z); p <- ncol(x)
  if (p > n - 4 || qr(x)$rank < p || kappa(x, exact = TRUE) > 50) next
  pass <- as.integer(runif(n) < plogis(runif(1, -1, 2) + drop(x[, -1, drop = FALSE] %*% rnorm(p - 1, 0, 2)))); if (sum(pass) < 2 || sum(pass) > n - 2) next
  d$y <- pass
  value <- function(b) { eta <- drop(x %*% b); q <- plogis(eta); sum(ifelse(pass == 1, plogis(eta, log.p = TRUE), plogis(-eta, log.p = TRUE))) + determinant(t(x) %*% (x * (q * (1 - q))))$modulus[1] / 2 }
  slope <- function(b, held = integer(0)) { q <- plogis(drop(x %*% b)); w <- q * (1 - q); h <- rowSums((x %*% solve(t(x) %*% (x * w))) * x) * w; g <- drop(t(x) %*% (pass - q + h * (0.5 - q))); if (length(held)) g[held] <- 0; g }
  best <- function(held = integer(0)) { b <- rep(0, p); free <- setdiff(seq_len(p), held)
    f <- function(u) { b[free] <- u; -value(b) }; g <- function(u) { b[free] <- u; -slope(b)[free] }
    if (length(free) == 0) return(list(b = b, value = value(b)))
    u <- rep(0, length(free)); for (i in 1:20) u <- optim(u, f, g, method = "BFGS", control = list(reltol = 1e-16, maxit = 2000))$par
    b[free] <- u; list(b = b, value = value(b)) }
  top <- best(); q <- plogis(drop(x %*% top$b)); if (max(abs(slope(top$b))) > 1e-6) next
  drop_p <- sapply(seq_len(p), function(j) pchisq(2 * (top$value - best(j)$value), 1, lower.tail = FALSE))
  return(case("pass-fail", factors, model, d, list(responses = list(list(name = "y", kind = "pass-fail"))),
    list(terms = key_of(x, ps, factors, z), estimate = top$b, value = top$value, slope = max(abs(slope(top$b))), se = sqrt(diag(solve(t(x) %*% (x * (q * (1 - q)))))), p = drop_p)))
}

makers <- list(least_squares, function() nested(1), function() nested(2), counts, mixed_counts, pass_fail)
cases <- list()
for (maker in seq_along(makers)) for (i in seq_len(count)) { set.seed(seed + 1000 * maker + i); cases <- c(cases, list(makers[[maker]]())) }
lines <- vapply(cases, function(c) as.character(toJSON(c, auto_unbox = TRUE, digits = NA, null = "null")), "")
writeLines(paste0('{"made":', toJSON(list(R = R.version.string, lme4 = as.character(packageVersion("lme4")), pbkrtest = as.character(packageVersion("pbkrtest")), lmerTest = as.character(packageVersion("lmerTest")), MASS = as.character(packageVersion("MASS")), car = as.character(packageVersion("car")), seed = seed), auto_unbox = TRUE), ',"cases":[\n', paste(lines, collapse = ",\n"), "\n]}"), file)
