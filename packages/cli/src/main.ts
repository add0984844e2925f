console.log('strandwise');
